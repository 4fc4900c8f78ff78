"""Files brought in step by step: whatever ends a step, nothing is lost or doubled; taken back, nothing is left."""

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django import Settings

from heaps import history
from heaps.importing import Unreadable, intake, reading, runs, shelf
from heaps.models import Attendance, Bay, DayTotal, Entry, ImportRun, Ledger, Parked, Site, StoredBay, Use
from heaps.sync import link
from members.models import Member

pytestmark = pytest.mark.ledger
HEAD = "what,date,time,bay,material,container,count,litres,kg,temperature_c,squeeze,bags,share_percent,person,words\n"
A_LOAD = "drop-off,2024-05-{day:02},10:{minute:02},Bay 1,peelings,bucket,{count},,,,,,,,\n"
State = ImportRun.State
Begin = Callable[..., ImportRun]


@pytest.fixture(autouse=True)
def own_folder(settings: Settings, tmp_path: Path) -> Path:
    """The files of this test only."""
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path / "imports"
    return tmp_path / "imports"


@pytest.fixture
def begin(site: Site, coordinator: Member, other_member: Member) -> Begin:
    """A file with this content, put there by Cleo."""

    def begin(content: str | bytes, **more: Any) -> ImportRun:
        data = content if isinstance(content, bytes) else content.encode()
        run = ImportRun(file_name="notebook.csv", person=coordinator, made_at=timezone.now(), **more)
        return runs.begin(SimpleUploadedFile("notebook.csv", data), run)

    return begin


def loads(count: int, first: int = 0) -> str:
    """So many different loads on the days of a month, the latest first."""
    lines = (
        A_LOAD.format(day=1 + number % 28, minute=number // 28 % 60, count=1 + number % 7)
        for number in range(first, first + count)
    )
    return HEAD + "".join(reversed(list(lines)))


def take_on(run: ImportRun, person: Member, upto: State, most: int = 200) -> ImportRun:
    """Step after step until it has come there."""
    for _ in range(most):
        run.refresh_from_db()
        if run.state == upto:
            return run
        runs.step(run, person)
    raise AssertionError(run.state)


def bring_in(run: ImportRun, person: Member) -> ImportRun:
    take_on(run, person, State.READ)
    runs.ask(run, "bring in")
    return take_on(run, person, State.DONE)


def take_back(run: ImportRun, person: Member) -> ImportRun:
    runs.ask(run, "take back")
    return take_on(run, person, State.GONE)


def sums() -> dict[str, list[tuple[Any, ...]]]:
    """Every stored sum, and what lies in each bay, as it would be told."""
    told = {
        model.__name__: sorted(
            (tuple(getattr(row, field.attname) for field in model._meta.fields if field.name != "id"))
            for row in model.objects.all()
        )
        for model in (Use, Attendance)
    }
    told["DayTotal"] = sorted(
        tuple(str(getattr(row, field.attname)) for field in DayTotal._meta.fields if field.name != "id")
        for row in DayTotal.objects.all()
    )
    told["StoredBay"] = [(row.bay_id, row.state["batch"]) for row in StoredBay.objects.order_by("bay")]
    return told


def chain_holds() -> bool:
    chain = "0" * 64
    for entry in Entry.objects.order_by("pk"):
        if entry.chain != (chain := link(chain, entry)):
            return False
    return Ledger.objects.get().chain == chain


def true_to_the_ledger() -> bool:
    return chain_holds() and not [one for site in Site.objects.all() for one in history.drift(site)]


def test_nothing_is_in_before_somebody_says_so(begin: Begin, coordinator: Member) -> None:
    run = take_on(begin(loads(30)), coordinator, State.READ)
    assert (run.lines, run.bad, run.here_already, Entry.objects.count()) == (30, 0, 0, 0)
    runs.step(run, coordinator)
    assert Entry.objects.count() == 0


def test_a_file_goes_in_and_out_again_to_the_gram(
    begin: Begin, coordinator: Member, keep: Any, bay: Bay, at: Callable[..., datetime]
) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=5, container_ml=10_000)
    keep("harvest", bay, at(6, 1), half_bags=3, bag_ml=40_000, per_cent=30, sieved="coarse")
    before = sums()
    run = bring_in(begin(loads(60)), coordinator)
    assert (run.went_in, Entry.objects.count()) == (60, 62)
    assert sums() != before
    assert true_to_the_ledger()
    run = take_back(run, coordinator)
    assert (run.taken_back, Entry.objects.count()) == (60, 122)
    assert sums() == before
    assert true_to_the_ledger()


def test_what_was_taken_back_comes_in_again_and_counts(begin: Begin, coordinator: Member) -> None:
    once = bring_in(begin(loads(40)), coordinator)
    counted = sums()
    for _ in range(2):
        take_back(once, coordinator)
        assert not DayTotal.objects.exists()
        once = bring_in(begin(loads(40)), coordinator)
        assert (once.went_in, once.here_already) == (40, 0)
        assert sums()["DayTotal"] == counted["DayTotal"]
    assert bring_in(begin(loads(40)), coordinator).here_already == 40
    assert true_to_the_ledger()


def test_the_same_file_is_noticed_and_counts_once(begin: Begin, coordinator: Member) -> None:
    first = bring_in(begin(loads(20)), coordinator)
    counted = sums()
    again = take_on(begin(loads(20)), coordinator, State.READ)
    assert (again.here_already, runs.same_file(again)) == (20, first)
    again = bring_in(again, coordinator)
    assert (again.went_in, again.here_already) == (0, 20)
    assert sums() == counted
    take_back(again, coordinator)
    assert sums() == counted, "what another file brought in is not its to take back"


def test_a_longer_copy_brings_only_what_is_new_and_takes_only_that_back(begin: Begin, coordinator: Member) -> None:
    bring_in(begin(loads(20)), coordinator)
    counted = sums()
    longer = bring_in(begin(loads(50)), coordinator)
    assert (longer.went_in, longer.here_already) == (30, 20)
    take_back(longer, coordinator)
    assert sums() == counted


class Killed(BaseException):
    """The process is gone."""


@pytest.mark.parametrize("where", ["heaps.importing.runs.take_in", "heaps.importing.runs.ImportPart.objects.create"])
@pytest.mark.parametrize("when", ["before", "after"])
def test_a_kill_anywhere_neither_loses_nor_doubles(
    begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch, where: str, when: str
) -> None:
    monkeypatch.setattr(runs, "BATCH", 7)
    run = take_on(begin(loads(40)), coordinator, State.READ)
    runs.ask(run, "bring in")
    killing(monkeypatch, where, when)
    deaths = 0
    while run.state != State.DONE:
        try:
            with transaction.atomic():
                runs.step(run, coordinator)
        except Killed:
            deaths += 1
        run.refresh_from_db()
    assert deaths >= 3
    assert (run.went_in, run.place, run.here_already, Entry.objects.count()) == (40, 40, 0, 40)
    assert true_to_the_ledger()
    take_back(run, coordinator)
    assert not DayTotal.objects.exists()


def killing(monkeypatch: pytest.MonkeyPatch, where: str, when: str) -> None:
    """Every second time, die before or after doing this."""
    owner = runs if where.endswith("take_in") else runs.ImportPart.objects
    name = where.rsplit(".", 1)[1]
    real, calls = getattr(owner, name), iter(range(10_000))

    def dying(*args: Any, **kwargs: Any) -> Any:
        dies = next(calls) % 2 == 0
        if dies and when == "before":
            raise Killed
        done = real(*args, **kwargs)
        if dies:
            raise Killed
        return done

    monkeypatch.setattr(owner, name, dying)


def test_a_kill_while_reading_reads_nothing_twice(
    begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "AT_ONCE", 6)
    run = begin(loads(20) + "drop-off,2024-05-03,,Bay 9,peelings,bucket,1,,,,,,,,\n" * 5)
    real, calls = shelf.note, iter(range(10_000))

    def dying(file: Any, what: str, value: object) -> None:
        real(file, what, value)
        if what == "read" and next(calls) % 2 == 0:
            raise Killed

    monkeypatch.setattr(shelf, "note", dying)
    while run.state == State.READING:
        with suppress(Killed):
            runs.step(run, coordinator)
        run.refresh_from_db()
    assert (run.lines, run.bad) == (20, 5)


def test_stop_and_go_on(begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runs, "BATCH", 10)
    run = take_on(begin(loads(40)), coordinator, State.READ)
    runs.ask(run, "bring in")
    runs.step(run, coordinator)
    stale = ImportRun.objects.get(pk=run.pk)
    runs.ask(run, "stop")
    runs.step(stale, coordinator)  # another tab has not seen it yet
    run.refresh_from_db()
    assert (run.state, run.place, Entry.objects.count()) == (State.STOPPED, 10, 10)
    runs.ask(run, "bring in")
    assert take_on(run, coordinator, State.DONE).went_in == 40


def test_half_of_it_is_taken_back_whole(begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runs, "BATCH", 10)
    run = take_on(begin(loads(40)), coordinator, State.READ)
    runs.ask(run, "bring in")
    runs.step(run, coordinator)
    runs.step(ImportRun.objects.get(pk=run.pk), coordinator)
    runs.ask(run, "stop")
    run = take_back(run, coordinator)
    assert (run.went_in, run.taken_back, DayTotal.objects.count()) == (20, 20, 0)
    assert true_to_the_ledger()


def test_stop_is_not_undone_by_an_older_page(begin: Begin, coordinator: Member) -> None:
    run = bring_in(begin(loads(10)), coordinator)
    runs.ask(run, "take back")
    runs.ask(run, "bring in")
    runs.ask(run, "stop")
    assert ImportRun.objects.get().state == State.BACK


def test_a_long_part_is_taken_back_in_pieces(
    begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = bring_in(begin(loads(40)), coordinator)
    monkeypatch.setattr(runs, "BATCH", 7)
    runs.ask(run, "take back")
    runs.step(run, coordinator)
    assert (ImportRun.objects.get().taken_back, true_to_the_ledger()) == (7, True)
    assert take_on(run, coordinator, State.GONE).taken_back == 40


def test_a_line_whose_bay_is_gone_meanwhile_stays_out_and_comes_in_once_it_is_back(
    begin: Begin, coordinator: Member, site: Site, bay: Bay
) -> None:
    notebook = loads(4) + loads(3, 50).removeprefix(HEAD).replace("Bay 1", "Bay 7")
    size = {"position": 7, "length_cm": 100, "width_cm": 100, "height_cm": 100}
    Bay.objects.create(site=site, name="Bay 7", **size)
    run = take_on(begin(notebook), coordinator, State.READ)
    Bay.objects.get(name="Bay 7").delete()
    runs.ask(run, "bring in")
    run = take_on(run, coordinator, State.DONE)
    assert (run.lines, run.went_in, run.here_already, run.bad) == (7, 4, 0, 3)
    assert {str(one.reason) for one in reading.bad_lines(run)} == {"One of its bays is not known at that site."}
    Bay.objects.create(site=site, name="Bay 7", **size)
    again = bring_in(begin(notebook), coordinator)
    assert (again.went_in, again.here_already, again.bad) == (3, 4, 0)
    take_back(run, coordinator)
    take_back(again, coordinator)
    assert not DayTotal.objects.exists()
    assert not Parked.objects.exists(), "nobody is asked to place what was taken back"
    assert true_to_the_ledger()


def test_two_at_once_are_not_mixed(begin: Begin, coordinator: Member) -> None:
    one, two = (take_on(begin(loads(20, first)), coordinator, State.READ) for first in (0, 50))
    runs.ask(one, "bring in")
    with pytest.raises(runs.Busy):
        runs.ask(two, "bring in")
    runs.ask(one, "stop")
    runs.ask(two, "bring in")


def test_what_somebody_corrected_meanwhile_is_taken_back_too(
    begin: Begin, coordinator: Member, keep: Any, bay: Bay
) -> None:
    run = bring_in(begin(loads(3)), coordinator)
    one = Entry.objects.order_by("pk")[1]
    more = one.details | {"half_containers": 40}
    said = {"corrects": str(one.uid), "says": "instead", "kind": "dropoff", "bay": str(bay.uid), "details": more}
    keep("correction", None, timezone.now(), **said)
    take_back(run, coordinator)
    assert not DayTotal.objects.exists()
    assert true_to_the_ledger()


def test_what_was_withdrawn_and_put_right_is_replayed_by_a_late_entry(
    keep: Any, bay: Bay, at: Callable[..., datetime]
) -> None:
    coffee = {"feedstock": "coffee", "half_containers": 5, "container_ml": 10_000}
    one = keep("dropoff", bay, at(5, 2), **coffee).uid
    keep("correction", None, at(5, 3), corrects=one, says="withdraw")
    keep("correction", None, at(5, 4), corrects=one, says="instead", kind="dropoff", bay=str(bay.uid), details=coffee)
    keep("dropoff", bay, at(5, 1), by_hand=True, arrives=at(5, 5), **coffee)
    assert true_to_the_ledger()


def test_what_was_revived_after_it_was_taken_back_does_not_come_twice(
    begin: Begin, coordinator: Member, keep: Any, bay: Bay
) -> None:
    run = take_back(bring_in(begin(loads(3)), coordinator), coordinator)
    one = Entry.objects.filter(kind="dropoff")[0]
    said = {"corrects": str(one.uid), "says": "instead", "kind": "dropoff", "bay": str(bay.uid), "details": one.details}
    keep("correction", None, timezone.now(), **said)
    assert run.taken_back == 3
    again = bring_in(begin(loads(3)), coordinator)
    assert (again.went_in, again.here_already) == (2, 1)


def test_the_command_and_the_page_know_each_other_s_lines(begin: Begin, coordinator: Member) -> None:
    run = bring_in(begin(loads(10)), coordinator)
    (line,) = Entry.objects.order_by("pk")[:1]
    assert intake.here_by_now({str(line.uid)}) == {str(line.uid): "here"}
    take_back(run, coordinator)
    assert intake.here_by_now({str(line.uid)}) == {str(line.uid): "gone"}


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
    (b"what,date,bay\n" + b"\n" * 250_001, "There are more than 250,000 lines."),
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


LINES = st.lists(st.tuples(st.integers(1, 28), st.integers(0, 59), st.integers(1, 3)), max_size=14)


@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(ours=LINES, theirs=LINES, live=LINES, batch=st.integers(1, 6))
def test_whatever_goes_in_and_out_the_rest_stays(
    begin: Begin, coordinator: Member, keep: Any, bay: Bay, monkeypatch: pytest.MonkeyPatch, ours, theirs, live, batch
) -> None:
    monkeypatch.setattr(runs, "BATCH", batch)
    undo = transaction.savepoint()
    for day, minute, count in live:
        moment = timezone.now().replace(2024, 5, day, 9, minute, 0, 0)
        keep("dropoff", bay, moment, feedstock="coffee", half_containers=count, container_ml=10_000)
    first = bring_in(begin(written(theirs)), coordinator)
    before = sums()
    run = bring_in(begin(written(ours)), coordinator)
    assert first.went_in == len(theirs)
    assert run.went_in + run.here_already == len(ours)
    assert true_to_the_ledger()
    take_back(run, coordinator)
    assert sums() == before
    assert true_to_the_ledger()
    transaction.savepoint_rollback(undo)


def written(lines: list[tuple[int, int, int]]) -> str:
    return HEAD + "".join(A_LOAD.format(day=day, minute=minute, count=count) for day, minute, count in lines)
