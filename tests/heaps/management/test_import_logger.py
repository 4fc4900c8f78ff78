"""A temperature logger's file: real hourly measurements go in exactly, and only once."""

import csv
import io
from datetime import UTC, datetime
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db.models import Max
from django.db.models.fields.json import KT

from heaps import history
from heaps.models import Bay, Entry, Ledger, Site
from members.models import Member

MEASURED = Path(__file__).parents[2] / "notebooks" / "stockpile_temperature_hourly_kamp2024.csv"


def bring_in(path: Path, *options: str) -> tuple[int, str]:
    said = io.StringIO()
    try:
        call_command("import", str(path), "--as", "cleo", "--logger", "--bay", "Bay 1", *options, stdout=said)
    except SystemExit as end:
        return int(end.code or 0), said.getvalue()
    return 0, said.getvalue()


def tenths(cell: str) -> int:
    return int((Decimal(cell) * 10).to_integral_value(ROUND_HALF_EVEN))


def test_real_measurements_go_in_exactly_and_only_once(site: Site, bay: Bay, coordinator: Member) -> None:
    with MEASURED.open(newline="") as file:
        measured = {
            (datetime.fromisoformat(line["time_local"]).replace(tzinfo=UTC), probe): tenths(cell)
            for line in csv.DictReader(file)
            for probe, cell in line.items()
            if probe != "time_local" and cell.strip()
        }
    Site.objects.filter(pk=site.pk).update(time_zone="UTC")
    assert "13615 went in, 0 were here already, 0 need you." in bring_in(MEASURED)[1]
    stored = {
        (at, said["probe"]): said["temp_tenths_c"]
        for at, said in Entry.objects.filter(bay=bay).values_list("effective_at", "details")
    }
    assert stored == measured and len(measured) == 13_615
    assert max(stored.values()) == 590  # 59.03 C, the hottest cell of the file
    chain = Ledger.objects.get().chain
    assert "0 went in, 13615 were here already, 0 need you." in bring_in(MEASURED)[1]
    assert (Entry.objects.count(), Ledger.objects.get().chain) == (13_615, chain)
    assert history.drift(site) == []


@pytest.fixture
def log(tmp_path: Path, site: Site, coordinator: Member):  # type: ignore[no-untyped-def]  # pytest makes it
    def log(content: str) -> Path:
        path = tmp_path / "log.csv"
        path.write_text(content)
        return path

    return log


def test_the_hour_that_the_clocks_pass_twice(log) -> None:
    times = ("2024-10-27T00:30", "2024-10-27T01:30", "2024-10-27T01:30", "2024-10-27T02:30")
    path = log("time;T1\n" + "".join(f"{at};4{place},5\n" for place, at in enumerate(times)))
    assert bring_in(path)[0] == 0
    assert [
        (row.effective_at.isoformat()[:16], row.details["temp_tenths_c"])
        for row in Entry.objects.order_by("effective_at")
    ] == [
        ("2024-10-26T23:30", 405), ("2024-10-27T00:30", 415), ("2024-10-27T01:30", 425), ("2024-10-27T02:30", 435),
    ]  # fmt: skip


def test_bad_cells_are_named_and_the_good_ones_go_in(log) -> None:
    path = log("time,T1,T2\n2024-05-01 10:00,40.1,NaN\nsoon,41,42\n2024-05-01 12:00,,900\n3/5/2024 09:00,104 F,43\n")
    code, said = bring_in(path)
    assert [line for line in said.splitlines() if line.startswith("line")] == [
        "line 2, T2: NaN is not a number.",
        "line 3, time: soon is not a day. Write 2024-05-31 or 31/5/2024.",
        "line 4, T2: 900 is out of range. It can be from -30 to 120.",
    ]
    stored = Entry.objects.aggregate(hottest=Max(KT("details__temp_tenths_c")))
    assert (code, Entry.objects.count(), stored["hottest"]) == (1, 3, 430)


def test_a_decimal_comma_that_parts_cells_is_noticed(log) -> None:
    code, said = bring_in(log("time,T1,T2\n2024-05-01 10:00,40,1,41,2\n"))
    assert (code, Entry.objects.count()) == (1, 0)
    assert "line 2: The cells do not fit the columns." in said


@pytest.mark.parametrize("head", ["time", "time,", "time,T1,T1", "time," + "x" * 21])
def test_probes_need_names_of_their_own(log, head: str) -> None:
    with pytest.raises(CommandError, match="probe"):
        bring_in(log(head + "\n"))


def test_the_bay_must_be_known(log) -> None:
    with pytest.raises(CommandError, match="There is no bay called Bay 7 at Lane Side"):
        call_command("import", str(log("time,T1\n")), "--as", "cleo", "--logger", "--bay", "Bay 7")
