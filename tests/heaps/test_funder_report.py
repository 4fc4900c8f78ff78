"""The year's report equals the ledger to the gram, and says no more than was recorded."""

import csv
import io
import re
from collections import defaultdict
from collections.abc import Callable
from datetime import UTC, date, datetime
from fractions import Fraction

import pytest
from django.test import Client
from django.urls import reverse

from heaps import funder_report, ledger
from heaps.funder_report import guarded, halves, hundredths_of_hours, thousandths
from heaps.history import entry_of
from heaps.ledger.amounts import RETURNED
from heaps.models import Bay, Entry, Site
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.years import year_of, year_with
from members.models import Cooperative, Member

pytestmark = pytest.mark.ledger  # its questions to the database run on PostgreSQL too
ClientOf = Callable[[Member | None], Client]


@pytest.fixture
def mixed_year(keep, bay: Bay, second_bay: Bay, member, other_member, at, site: Site) -> None:
    """Loads weighed and estimated, corrected and withdrawn, openings, harvests, hours: what a year holds."""
    keep("opening", second_bay, at(1, 2), volume_ml=400_000, age_days=90, make_up=[["leaves-mixed", 100]])
    keep("dropoff", bay, at(2, 1), feedstock="coffee", half_containers=3, container_ml=10_333, by=member)
    keep("dropoff", bay, at(2, 1), feedstock="coffee", half_containers=2, container_ml=10_000, weighed_g=4_321)
    wrong = keep("dropoff", bay, at(3, 5), feedstock="peelings", half_containers=40, container_ml=10_000)
    keep("correction", None, at(3, 6), corrects=wrong.uid, says="instead", kind="dropoff", bay=str(bay.uid),
         details={"feedstock": "tea-leaves", "half_containers": 4, "container_ml": 10_001})  # fmt: skip
    twice = keep("dropoff", bay, at(3, 7), feedstock="cardboard", half_containers=7, container_ml=9_999)
    keep("correction", None, at(3, 8), corrects=twice.uid, says="withdraw")
    keep("dropoff", bay, at(3, 9), feedstock=RETURNED, half_containers=1, container_ml=15_001)
    keep("water", bay, at(3, 10), volume_ml=20_000)
    keep("turn", second_bay, at(4, 1), sources=[{"bay": str(bay.uid), "per_cent": 50}])
    keep("harvest", second_bay, at(5, 1), half_bags=5, bag_ml=39_999, per_cent=30, sieved="sieved")
    keep("collection", None, at(5, 2), half_bags=1, bag_ml=40_000, by=other_member)
    keep("hours", None, at(5, 3), minutes=50, people=3, by=member)


def cells(client: Client, year: int = 2026) -> list[dict[str, str]]:
    """The downloaded table, line by line."""
    answer = client.get(reverse("heaps:year_csv", args=[year]))
    return list(csv.DictReader(io.StringIO(answer.getvalue().decode("utf-8-sig"))))


def test_in_short_it_says_what_the_table_says(client_of: ClientOf, treasurer, mixed_year) -> None:
    lines, short = cells(client_of(treasurer)), funder_report.in_short(funder_report.rows(year_of(2026)))

    def summed(column: str, **where: str) -> Fraction:
        return sum(Fraction(one[column]) for one in lines if one.items() >= where.items())

    assert Fraction(short.in_g, 1000) == summed("wet_kg", what="came in")
    assert Fraction(short.weighed_g, 1000) == summed("wet_kg", what="came in", basis="weighed") == Fraction("4.321")
    assert Fraction(short.made_half_bags, 2) == summed("bags", what="harvested")
    assert Fraction(short.fetched_half_bags, 2) == summed("bags", what="collected")
    (people,) = [int(one["people"]) for one in lines if one["what"] == "people" and not one["month"]]
    assert (short.minutes, short.people) == (150, people)
    page = client_of(treasurer).get(reverse("heaps:year", args=[2026])).content.decode()
    assert "Bags made: 2½. Bags fetched: ½. 3 people recorded something. Work: 2 h 30 min." in page


def test_with_two_sites_each_person_is_said_once(keep, bay: Bay, other_site: Site, member, at) -> None:
    keep("hours", None, at(5, 3), minutes=50, people=1, by=member)
    keep(
        "dropoff", other_site.bays.get(), at(5, 4), feedstock="coffee", half_containers=2, container_ml=9_000, by=member
    )
    assert funder_report.in_short(funder_report.rows(year_of(2026))).people == 1


def test_each_figure_equals_the_ledger_to_the_gram(client_of: ClientOf, treasurer, mixed_year, site) -> None:
    """The ledger is read anew here, row by row, without the stored totals."""
    wanted: dict[tuple[str, str, str], int] = defaultdict(int)
    entries = [entry_of(row) for row in Entry.objects.filter(site=site).select_related("bay")]
    for entry in ledger.effective(entries):
        if entry.what.kind == "dropoff":
            what = "returned" if entry.what.feedstock == RETURNED else "came in"
            volume_ml = entry.what.half_containers * entry.what.container_ml // 2
            density = FEEDSTOCKS[entry.what.feedstock].density_kg_m3
            grams = entry.what.weighed_g if entry.what.weighed_g is not None else (volume_ml * density + 500) // 1000
            basis = "estimated" if entry.what.weighed_g is None else "weighed"
            wanted[what, FEEDSTOCKS[entry.what.feedstock].name, basis] += grams
    found: dict[tuple[str, str, str], int] = defaultdict(int)
    for line in cells(client_of(treasurer)):
        if line["wet_kg"]:
            assert line["wet_kg"][-4] == "."
            found[line["what"], line["material"], line["basis"]] += int(line["wet_kg"].replace(".", ""))
    assert found == wanted
    assert len(found) == 4


def test_it_says_what_went_out_and_who_was_there(client_of: ClientOf, treasurer, mixed_year) -> None:
    lines = {(line["what"], line["month"]): line for line in cells(client_of(treasurer))}
    assert (lines["harvested", "2026-05"]["bags"], lines["harvested", "2026-05"]["litres"]) == ("2.5", "99.997")
    assert (lines["collected", "2026-05"]["bags"], lines["collected", "2026-05"]["litres"]) == ("0.5", "20.000")
    assert lines["hours", "2026-05"]["hours"] == "2.50"
    assert lines["people", "2026-05"]["people"] == "3"
    assert lines["people", ""]["people"] == "3"


def test_an_opening_and_water_are_not_input(client_of: ClientOf, treasurer, mixed_year) -> None:
    lines = cells(client_of(treasurer))
    assert FEEDSTOCKS["leaves-mixed"].name not in {line["material"] for line in lines}
    assert {line["what"] for line in lines if line["month"] == "2026-01"} == {"people"}
    assert {line["what"] for line in lines} == {"came in", "returned", "harvested", "collected", "hours", "people"}


def test_the_table_is_rfc_4180_in_utf_8_with_its_mark(client_of: ClientOf, treasurer, mixed_year) -> None:
    answer = client_of(treasurer).get(reverse("heaps:year_csv", args=[2026]))
    body = answer.getvalue()
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert body.endswith(b"\r\n") and body.count(b"\n") == body.count(b"\r\n")
    assert body.startswith(
        b"\xef\xbb\xbfyear,month,site,what,material,basis,entries,wet_kg,litres,bags,hours,people,m2\r\n"
    )
    assert answer["Content-Disposition"] == 'attachment; filename="came-and-went-2026.csv"'
    assert "no-store" in answer["Cache-Control"]


def test_a_name_that_looks_like_a_formula_stays_text(client_of: ClientOf, treasurer, mixed_year, site) -> None:
    site.name = '=HYPERLINK("x","y"),1'
    site.save()
    assert {line["site"] for line in cells(client_of(treasurer))} == {'\'=HYPERLINK("x","y"),1'}


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx"])
def test_what_a_spreadsheet_would_run_is_guarded(text: str) -> None:
    assert guarded(text) == f"'{text}"
    assert guarded(f"a{text}") == f"a{text}"


def test_numbers_are_exact_text() -> None:
    assert [thousandths(grams) for grams in (0, 1, 999, 1_000, 12_345_678, -1_005)] == [
        "0.000", "0.001", "0.999", "1.000", "12345.678", "-1.005",
    ]  # fmt: skip
    assert [halves(number) for number in (0, 1, 2, 5, -1)] == ["0", "0.5", "1", "2.5", "-0.5"]
    assert [hundredths_of_hours(minutes) for minutes in (0, 1, 50, 60, 61, 150)] == [
        "0.00", "0.02", "0.83", "1.00", "1.02", "2.50",
    ]  # fmt: skip


def test_a_year_may_begin_in_april(client_of: ClientOf, treasurer, keep, bay, at, cooperative: Cooperative) -> None:
    cooperative.year_starts_in_month = 4
    cooperative.save()
    for month, day in ((3, 31), (4, 1)):
        keep("dropoff", bay, at(month, day), feedstock="coffee", half_containers=2, container_ml=10_000)
    client = client_of(treasurer)
    assert {line["month"] for line in cells(client, 2025) if line["month"]} == {"2026-03"}
    assert {(line["year"], line["month"]) for line in cells(client, 2026) if line["month"]} == {("2026/27", "2026-04")}
    assert year_with(date(2026, 3, 31)) == 2025
    assert "2026/27" in client.get(reverse("heaps:year", args=[2026])).content.decode()


def test_the_way_to_the_year_leads_to_the_one_that_runs_now(
    client_of: ClientOf, treasurer, cooperative: Cooperative, monkeypatch: pytest.MonkeyPatch
) -> None:
    cooperative.year_starts_in_month = 4
    cooperative.save()
    monkeypatch.setattr("heaps.views.year.timezone.now", lambda: datetime(2026, 2, 1, tzinfo=UTC))
    assert client_of(treasurer).get(reverse("heaps:this_year"))["Location"] == reverse("heaps:year", args=[2025])


def test_a_century_turns_in_the_label(cooperative: Cooperative) -> None:
    cooperative.year_starts_in_month = 7
    cooperative.save()
    assert year_of(2099).label == "2099/00"
    assert year_of(1989) is None and year_of(9_999) is None


def test_somebody_who_came_in_two_months_is_one_person_of_the_year(keep, bay, at, member) -> None:
    for month in (2, 3):
        keep("dropoff", bay, at(month, 1), feedstock="coffee", half_containers=2, container_ml=10_000, by=member)
    people = {row.month: row.people for row in funder_report.rows(year_of(2026)) if row.what == "people"}
    assert people == {date(2026, 2, 1): 1, date(2026, 3, 1): 1, None: 1}


def test_a_load_at_midnight_counts_on_the_sites_own_day(keep, bay, at) -> None:
    keep("dropoff", bay, at(4, 30, 23, 30), feedstock="coffee", half_containers=2, container_ml=10_000)
    (row,) = [row for row in funder_report.rows(year_of(2026)) if row.what == "came in"]
    assert row.month == date(2026, 5, 1)  # half past midnight in London, in summer time


def test_the_page_sums_the_months_and_keeps_weighed_apart(client_of: ClientOf, coordinator, mixed_year) -> None:
    found = funder_report.sums(funder_report.rows(year_of(2026)))
    coffee = {row.basis: row.amount for row in found if row.detail == "coffee"}
    assert coffee["weighed"].wet_g == 4_321 and coffee["estimated"].entries == 1
    page = client_of(coordinator).get(reverse("heaps:year", args=[2026])).content.decode()
    assert "4.321 kg" in page and "composted on site" in page
    assert reverse("heaps:year_csv", args=[2026]) not in page  # a coordinator reads it, a treasurer takes it away


def test_refused_loads_mulched_ground_gatherings_and_incidents_are_told(
    client_of: ClientOf, treasurer, keep, site, at
) -> None:
    keep(
        "refused_load",
        None,
        at(5, 1),
        feedstock="meat-fish",
        why="never goes in",
        half_containers=2,
        container_ml=9_000,
    )
    keep("refused_load", None, at(5, 2), feedstock="meat-fish", why="never goes in")
    keep("spread", None, at(5, 3), tenths_m2=125, depth_mm=50)
    keep("session", None, at(5, 4), sort="workshop", people=12)
    keep("session", None, at(5, 5), sort="workshop", people=3, minutes=90)
    keep("incident", None, at(5, 6), what="hot heap")
    keep("stocktake", None, at(5, 7), half_containers=9, container_ml=40_000)
    keep("soak", None, at(5, 8), weed="bindweed", way="in", half_containers=2, container_ml=10_000)
    told = client_of(treasurer).get(reverse("heaps:year_csv", args=[2026])).getvalue().decode("utf-8-sig").splitlines()
    assert [line for line in told if ",people," not in line] == [
        '2026,2026-05,Lane Side,refused,"Meat, fish, bones",,2,,9.000,,,,',
        "2026,2026-05,Lane Side,mulched,,,1,,,,,,12.5",
        "2026,2026-05,Lane Side,gatherings,workshop,,2,,,,,15,",
        "2026,2026-05,Lane Side,incidents,hot heap,,1,,,,,,",
    ]


def test_mulched_ground_adds_up_on_the_page_as_in_the_table(
    client_of: ClientOf, treasurer, keep, other_site, at
) -> None:
    keep("spread", None, at(5, 3), tenths_m2=55)
    keep("spread", other_site.bays.get(), at(5, 3), tenths_m2=90)
    page = client_of(treasurer).get(reverse("heaps:year", args=[2026])).content.decode()
    told = re.findall(r"([\d.,]+) m²", page.partition("Month by month")[0])
    assert told == ["14.5", "9", "5.5"]  # both sites, then Far Field and Lane Side


def test_a_container_that_weighs_more_when_empty_is_asked_about(keep, site, at) -> None:
    receipt = keep(
        "weighing", None, at(5, 1), wants="refused", feedstock="coffee", container_ml=10_000, full_g=900, empty_g=900
    )
    assert "Full it must weigh more than empty" in receipt.reason
