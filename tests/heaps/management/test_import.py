"""Old notebooks: each bad line with its reason, nothing twice, nothing written in a dry run."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from heaps import history
from heaps.models import Bay, Checkpoint, Container, DayTotal, Entry, Ledger, Question, Site, StoredBay
from members.models import Member

HEAD = "what,date,time,bay,material,container,count,litres,kg,temperature_c,squeeze,bags,share_percent,person,words\n"
GOOD = HEAD + (
    "drop-off,2024-05-03,10:30,Bay 1,Vegetable peelings,bucket,1.5,,,,,,,,from the school\n"
    "Drop-off,3/5/2024,,bay 1,PEELINGS,,,20 gal,,,,,,,\n"
    "dropoff,2024-05-04,,Bay 1,leaves-mixed,,,,12 lb,,,,,bela,\n"
    "reading,2024-05-05,09:00,Bay 1,,,,,,60 F,holds,,,,\n"
    "harvest,2024-06-01,,Bay 1,,,,,,,,10.5,50,,\n"
)


@pytest.fixture
def run(site: Site, coordinator: Member, other_member: Member, tmp_path: Path):  # type: ignore[no-untyped-def]  # a fixture
    """Bring in a file with this content; answers with the exit code and what was said."""

    def run(content: str | bytes, *options: str) -> tuple[int, str]:
        path = tmp_path / "notebook.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        said = io.StringIO()
        try:
            call_command("import", str(path), "--as", "cleo", *options, stdout=said)
        except SystemExit as end:
            return int(end.code or 0), said.getvalue()
        return 0, said.getvalue()

    return run


def stored() -> list[int]:
    return [model.objects.count() for model in (Entry, Ledger, StoredBay, Checkpoint, DayTotal, Question)]


def test_a_notebook_goes_in(run, site: Site, bay: Bay, bucket: Container, other_member: Member) -> None:
    code, said = run(GOOD)
    assert (code, "5 went in, 0 were here already, 0 need you." in said) == (0, True), said
    first, second, third, reading, harvest = Entry.objects.order_by("effective_at")
    assert first.effective_at == datetime(2024, 5, 3, 9, 30, tzinfo=UTC)  # British summer time
    assert first.details == {
        "feedstock": "peelings", "half_containers": 3, "container_ml": 10_000, "container": str(bucket.uid),
    }  # fmt: skip
    assert (first.words, first.by_hand, first.person.username) == ("from the school", True, "cleo")
    assert second.details == {"feedstock": "peelings", "half_containers": 2, "container_ml": 90_922}
    assert second.effective_at == datetime(2024, 5, 3, 11, tzinfo=UTC)  # noon
    assert (third.details["weighed_g"], third.person) == (5_443, other_member)
    assert third.details["container_ml"] == 49_482  # loose leaves weigh 110 g a litre
    assert reading.details == {"temp_tenths_c": 156, "squeeze": "holds"}
    assert harvest.details == {"half_bags": 21, "bag_ml": 40_000, "per_cent": 50, "sieved": "coarse"}
    assert history.drift(site) == []


def test_a_second_time_changes_nothing(run) -> None:
    run(GOOD)
    before = stored(), Ledger.objects.get().chain
    code, said = run(GOOD)
    assert "0 went in, 5 were here already, 0 need you." in said
    assert (code, (stored(), Ledger.objects.get().chain)) == (0, before)


def test_a_second_time_from_another_spreadsheet_changes_nothing(run) -> None:
    run(HEAD + "drop-off,2024-05-03,,Bay 1,peelings,bucket,1.50,,,,,,,,\n")
    semicolons = "bay;what;date;material;count;container\nBay 1;drop-off;3/5/2024;Peelings;1,5;Bucket\n"
    assert "0 went in, 1 were here already" in run(b"\xef\xbb\xbf" + semicolons.encode())[1]
    assert "0 went in, 1 were here already" in run(semicolons.encode("utf-16"))[1]
    assert "0 went in, 1 were here already" in run(semicolons.replace(";", "\t"))[1]


def test_a_container_measured_anew_does_not_double_the_past(run, bucket: Container) -> None:
    run(GOOD)
    Container.objects.filter(pk=bucket.pk).update(litres=12)
    assert "0 went in, 5 were here already, 0 need you." in run(GOOD)[1]


def test_equal_lines_are_loads_of_their_own(run) -> None:
    line = "drop-off,2024-05-03,,Bay 1,peelings,bucket,1,,,,,,,,\n"
    assert "3 went in" in run(HEAD + line * 3)[1]
    assert "1 went in, 3 were here already" in run(HEAD + line * 4)[1]


def test_people_of_one_notebook_are_not_asked_about_twice(run) -> None:
    lines = "".join(f"drop-off,2024-05-03,,Bay 1,peelings,bucket,1,,,,,,,{who},\n" for who in ("bela", "cleo"))
    run(HEAD + lines)
    assert (Entry.objects.count(), Question.objects.count()) == (2, 0)


def test_a_dry_run_writes_nothing(run) -> None:
    before = stored()
    code, said = run(GOOD + "reading,2024-05-05,,Bay 9,,,,,,60,,,,,\n", "--dry-run")
    assert stored() == before
    assert (code, "5 would go in, 0 were here already, 1 need you. Nothing was written." in said) == (1, True)


BAD = [
    ("drop-off,2024-05-03,,Bay 9,peelings,bucket,1,,,,,,,,", "bay: There is no bay called Bay 9 at Lane Side. Is it"),
    ("drop-off,2024-05-03,,,peelings,bucket,1,,,,,,,,", "bay: Say which bay."),
    ("drop-off,2024-02-30,,Bay 1,peelings,bucket,1,,,,,,,,", "date: There is no such day as 2024-02-30."),
    ("drop-off,3/5/24,,Bay 1,peelings,bucket,1,,,,,,,,", "date: 3/5/24 is not a day."),
    ("drop-off,2224-05-03,,Bay 1,peelings,bucket,1,,,,,,,,", "date: This day is in the future"),
    ("drop-off,1889-05-03,,Bay 1,peelings,bucket,1,,,,,,,,", "date: This day is in the future, or before 1990."),
    ("drop-off,2024-05-03,25:00,Bay 1,peelings,bucket,1,,,,,,,,", "time: 25:00 is not a time of day."),
    ("drop-off,2024-05-03,,Bay 1,moon dust,bucket,1,,,,,,,,", "material: There is no material called moon dust."),
    ("drop-off,2024-05-03,,Bay 1,peelngs,bucket,1,,,,,,,,", "Is it peelings?"),
    ("drop-off,2024-05-03,,Bay 1,oil,bucket,1,,,,,,,,", "material: Cooking oil, fat never goes in."),
    ("drop-off,2024-05-03,,Bay 1,,bucket,1,,,,,,,,", "material: Say what was brought."),
    ("drop-off,2024-05-03,,Bay 1,peelings,crate,1,,,,,,,,", "container: There is no container called crate"),
    ("drop-off,2024-05-03,,Bay 1,peelings,bucket,some,,,,,,,,", "count: some is not a number."),
    ("drop-off,2024-05-03,,Bay 1,peelings,bucket,1.3,,,,,,,,", "count: 1.3 is too fine."),
    ("drop-off,2024-05-03,,Bay 1,peelings,bucket,0,,,,,,,,", "count: 0 is out of range. It can be from 0.5 to 200."),
    ("drop-off,2024-05-03,,Bay 1,peelings,bucket,-2,,,,,,,,", "count: -2 is out of range."),
    ("drop-off,2024-05-03,,Bay 1,peelings,,3,,,,,,,,", "count: Say which container was counted"),
    ("drop-off,2024-05-03,,Bay 1,peelings,,,,,,,,,,", "litres: Say how much it was"),
    ("drop-off,2024-05-03,,Bay 1,peelings,bucket,1,20,,,,,,,", "litres: Give a container and a count, or litres"),
    ("drop-off,2024-05-03,,Bay 1,peelings,,,\"1,200\",,,,,,,", "litres: 1,200 can be read in two ways."),
    ("drop-off,2024-05-03,,Bay 1,peelings,bucket,1,,,55,,,,,", "temperature_c: This belongs to another kind of line."),
    ("drop-off,2024-05-03,,Bay 1,peelings,bucket,1,,,,,,,zoe,", "person: There is no person called zoe"),
    ("drop-off,2024-05-03,,Bay 1,peelings,bucket,1,,,,,,,," + "x" * 1001, "words: Please keep the words under 1000"),
    ("drop-off,2024-05-03,,Bay 1,peelings,,,12,5,,,,,,,", "line 4: The cells do not fit the columns."),
    ("reading,2024-05-03,,Bay 1,,,,,,,,,,,", "temperature_c: A reading needs a temperature"),
    ("reading,2024-05-03,,Bay 1,,,,,,500,,,,,", "temperature_c: 500 is out of range. It can be from -30 to 120."),
    ("reading,2024-05-03,,Bay 1,,,,,,50 K,,,,,", "temperature_c: The unit k is not known here."),
    ("reading,2024-05-03,,Bay 1,,,,,,,soggy,,,,", "squeeze: soggy is none of: dust, crumbles, holds, drops, runs."),
    ("harvest,2024-05-03,,Bay 1,,,,,,,,,50,,", "bags: A harvest needs this."),
    ("harvest,2024-05-03,,Bay 1,,,,,,,,3,,,", "share_percent: A harvest needs this."),
    ("harvest,2024-05-03,,Bay 1,,,,,,,,3,150,,", "share_percent: 150 is out of range. It can be from 1 to 100."),
    ("turn,2024-05-03,,Bay 1,,,,,,,,,,,", "what: Say what it was: drop-off, reading or harvest."),
]  # fmt: skip


@pytest.mark.parametrize(("line", "reason"), BAD)
def test_a_bad_line_is_named_with_its_reason_and_the_good_ones_go_in(run, line: str, reason: str) -> None:
    good = "drop-off,2024-05-03,,Bay 1,peelings,bucket,1,,,,,,,,\n"
    code, said = run(HEAD + good + "\n" + line + "\n" + good)
    assert next(one for one in said.splitlines() if one.startswith("line ")).startswith("line 4")
    assert reason in said
    assert (code, Entry.objects.count()) == (1, 2)


def test_every_bad_cell_of_a_line_is_told(run) -> None:
    said = run(HEAD + "drop-off,2024-02-30,,Bay 9,moon dust,bucket,some,,,,,,,,\n")[1]
    assert [one.split(":")[0] for one in said.splitlines() if one.startswith("line 2")] == [
        "line 2, bay", "line 2, date", "line 2, material", "line 2, count",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("", "first line must name the columns"),
        ("what,date,bay,colour\n", "The column colour is not known. Known columns: what, date"),
        ("what,date,bay,date\n", "The column date stands there twice."),
        ("what,date\n", "There is no column bay."),
    ],
)
def test_a_file_that_is_no_notebook(run, content: str, reason: str) -> None:
    with pytest.raises(CommandError, match=reason):
        run(content)


def test_only_a_coordinator_brings_a_notebook_in(run, member: Member, tmp_path: Path) -> None:
    run(HEAD)
    with pytest.raises(CommandError, match="ada is neither a coordinator nor an administrator"):
        call_command("import", str(tmp_path / "notebook.csv"), "--as", "ada")
    with pytest.raises(CommandError, match="Nobody signs in as zoe"):
        call_command("import", str(tmp_path / "notebook.csv"), "--as", "zoe")


def test_a_missing_file_is_said_plainly(run) -> None:
    with pytest.raises(CommandError, match=r"Cannot open no-such-notebook\.csv"):
        call_command("import", "no-such-notebook.csv", "--as", "cleo")


def test_the_site_must_be_named_where_there_are_two(run, site: Site) -> None:
    Site.objects.create(name="Far Side")
    line = "what,date,bay,material,litres\ndrop-off,2024-05-03,Bay 1,peelings,10\n"
    assert "line 2, site: Say which site." in run(line)[1]
    assert "1 went in" in run(line, "--site", "lane side")[1]


def test_old_windows_letters_are_kept(run) -> None:
    run("what,date,bay,material,litres,words\ndrop-off,2024-05-03,Bay 1,peelings,10,café\n".encode("cp1252"))
    assert Entry.objects.get().words == "café"


def test_an_open_quote_spoils_only_its_own_lines(run) -> None:
    line = "drop-off,2024-05-03,Bay 1,peelings,10,{}\n"
    lines = line.format("fine") + line.format('"never closed') + line.format("swallowed")
    code, said = run("what,date,bay,material,litres,words\n" + lines)
    assert (code, Entry.objects.get().words) == (1, "fine")
    assert "line 3: The cells do not fit the columns." in said


def test_loads_in_any_order_of_days(run, site: Site) -> None:
    days = [f"2024-{month:02}-{day:02}" for month in (5, 3, 4) for day in (9, 2, 20)]
    run(HEAD + "".join(f"drop-off,{day},,Bay 1,peelings,bucket,1,,,,,,,,\n" for day in days))
    assert history.drift(site) == []
    state = history.current_states([site.pk])[str(site.bays.get(name="Bay 1").uid)]
    assert state.batch and state.batch.volume_ml == 90_000
