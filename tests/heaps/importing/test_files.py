"""The files themselves: odd columns, odd letters, bad ones told plainly, and each gone when its time is over."""

from pathlib import Path

import pytest
from django.db import transaction
from django.utils import timezone

from heaps.importing import Unreadable, reading, runs, shelf
from heaps.models import Bay, Entry, ImportRun
from members.models import Member
from tests.heaps.importing.steps import HEAD, Begin, State, bring_in, loads, take_on

pytestmark = pytest.mark.ledger


def test_columns_by_other_names_are_matched_by_hand(begin: Begin, coordinator: Member) -> None:
    run = begin("Art,Day,Heap,Stuff,Litres,Weather\ndrop-off,3/5/2024,Bay 1,Peelings,10,rain\n")
    assert (run.state, run.columns) == (State.COLUMNS, [None, "date", "bay", "material", "litres", None])
    assert "There is no column what" in str(runs.match(run, ["", "date", "bay", "material", "litres", ""]))
    assert runs.match(run, ["what", "date", "bay", "material", "litres", ""]) is None
    run = bring_in(run, coordinator)
    assert (run.went_in, Entry.objects.get().details["container_ml"]) == (1, 10_000)


def test_who_leaves_meanwhile_takes_name_and_words_along(
    begin: Begin, coordinator: Member, other_member: Member
) -> None:
    run = begin(HEAD + "drop-off,2024-05-03,,Bay 1,peelings,bucket,1,,,,,,,bela,by Bela\n")
    take_on(run, coordinator, State.READ)
    other_member.delete()
    bring_in(run, coordinator)
    assert (Entry.objects.get().person, Entry.objects.get().words) == (None, "")


def test_the_file_goes_when_it_is_in(begin: Begin, coordinator: Member, own_folder: Path) -> None:
    with transaction.atomic():
        run = begin(loads(5) + "drop-off,2024-05-03,,Bay 9,peelings,bucket,1,,,,,,,,secret words\n")
    run = take_on(run, coordinator, State.READ)
    runs.ask(run, "bring in")
    runs.step(run, coordinator)
    shelf.keep_bad_lines_only(run)  # the test's own transaction never ends
    assert [path.suffix for path in own_folder.iterdir()] == [".lines"]
    assert b"secret words" not in shelf.path_of_lines(run).read_bytes()
    assert [one.line for one in reading.bad_lines(run)] == [7]


def test_old_files_go(begin: Begin, own_folder: Path) -> None:
    begin(loads(5))
    (own_folder / "broken.upload").write_text("half")
    shelf.throw_away_old(timezone.now() + shelf.KEPT / 2)
    assert sorted(path.suffix for path in own_folder.iterdir()) == [".file", ".lines"]
    shelf.throw_away_old(timezone.now() + shelf.KEPT * 1.1)
    assert list(own_folder.iterdir()) == []


def test_a_file_that_is_gone_says_so(begin: Begin, coordinator: Member) -> None:
    run = take_on(begin(loads(5)), coordinator, State.READ)
    runs.ask(run, "bring in")
    shelf.throw_away(run)
    with pytest.raises(runs.FileGone):
        runs.step(ImportRun.objects.get(pk=run.pk), coordinator)


def test_a_file_of_which_nothing_is_in_is_forgotten(begin: Begin, coordinator: Member, own_folder: Path) -> None:
    run = take_on(begin(loads(5)), coordinator, State.READ)
    assert runs.forget(run)
    assert (ImportRun.objects.count(), list(own_folder.iterdir())) == (0, [])
    run = bring_in(begin(loads(5)), coordinator)
    assert not runs.forget(run)


def test_a_logger_s_hour_that_comes_twice_is_told_apart_across_steps(
    begin: Begin, coordinator: Member, bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "AT_ONCE", 2)
    times = ["00:30", "01:00", "01:30", "01:00", "01:30", "02:00"]
    content = "time,A\n" + "".join(f"2024-10-27 {clock},4{number}\n" for number, clock in enumerate(times))
    bring_in(begin(content, of="logger", bay=bay), coordinator)
    hours = [f"{row.effective_at:%H:%M}" for row in Entry.objects.order_by("effective_at")]
    assert hours == ["23:30", "00:00", "00:30", "01:00", "01:30", "02:00"]


BAD_FILES = [
    (b"", "The file is empty."),
    (b"\xef\xbb\xbf \n", "The first line must name the columns."),
    (b"PK\x03\x04" + b"\0" * 50, "Save it there as CSV"),
    (b"\xd0\xcf\x11\xe0" + b"\0" * 50, "Save it there as CSV"),
    (b"\x89PNG\r\n\x1a\n" + b"\0" * 50, "This is no text."),
    ("what,date,bay\n".encode("utf-16-le"), "This is no text."),
    (b"a," * 30_000, "The first line is far too long."),
    (b"a," * 1_000_000 + b"\n", "The first line is far too long."),
    (b"\n" * 300_000, "must name the columns"),
    (b"what,date,bay\n" + b"\n" * 250_001, "There are more than 250000 lines."),
]


@pytest.mark.parametrize(("content", "reason"), BAD_FILES, ids=[reason[:20] for _, reason in BAD_FILES])
def test_a_bad_file_is_told_plainly_and_leaves_nothing(
    begin: Begin, own_folder: Path, content: bytes, reason: str
) -> None:
    with pytest.raises(Unreadable, match=reason):
        begin(content)
    assert (ImportRun.objects.count(), list(own_folder.iterdir())) == (0, [])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_letters_and_decimal_commas_of_other_programs(begin: Begin, coordinator: Member, encoding: str) -> None:
    content = "what;date;bay;material;litres;words\ndrop-off;3/5/2024;Bay 1;Peelings;12,5;café\n"
    bring_in(begin(content.encode(encoding)), coordinator)
    one = Entry.objects.get()
    assert (one.words, one.details["container_ml"]) == ("café", 12_500)
