"""Names go, amounts stay: every total and every number of people is the same before and after."""

import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from heaps import funder_report, history
from heaps.doubts import NOTEBOOK
from heaps.models import Attendance, Bay, DayTotal, Entry, Headcount, Ledger, Parked, Site
from heaps.names import Named, forget, take_off
from heaps.sync import Sending, accept, link
from heaps.tray import place
from heaps.years import year_of
from members.models import Cooperative, Member
from tests import random_ledgers

pytestmark = pytest.mark.ledger

SITES = tuple(f"5e000000-0000-4000-8000-00000000000{place}" for place in (1, 2))
BAYS = tuple(f"ba000000-0000-4000-8000-00000000000{place}" for place in range(4))
NOW = datetime(2028, 11, 1, 12, tzinfo=UTC)
YEARS = (2025, 2026, 2027)


def ground() -> list[Site]:
    """Two sites, each with two bays; the second is far from UTC, so that its months begin at another moment."""
    sites = [
        Site.objects.create(uid=uid, name=f"Ground {uid[-1]}", time_zone=zone)
        for uid, zone in zip(SITES, ("UTC", "Pacific/Auckland"), strict=True)
    ]
    for place_, uid in enumerate(BAYS):
        Bay.objects.create(
            uid=uid, site=sites[place_ // 2], name=uid[-1], position=1, length_cm=100, width_cm=100, height_cm=100
        )
    return sites


def people() -> list[Member]:
    """Three coordinators, so that anyone may correct anything."""
    return [Member.objects.create(username=name, name=name, is_coordinator=True) for name in ("ada", "bo", "cy")]


def report() -> dict[tuple[int, int], Any]:
    """The report of every year, whenever years start."""
    found = {}
    for month in (1, 4, 6, 12):
        Cooperative.objects.update(year_starts_in_month=month)
        for year in YEARS:
            this = year_of(year)
            assert this
            found[year, month] = list(funder_report.lines(this))
    return found


def totals() -> list[Any]:
    """Every stored sum, to the gram."""
    return sorted(map(str, DayTotal.objects.values_list()))


def chain_holds() -> bool:
    chain = "0" * 64
    for row in Entry.objects.order_by("pk"):
        chain = link(chain, row)
        if row.chain != chain:
            return False
    return Ledger.objects.get().chain == chain


def take(raws: list[dict[str, Any]], person: Member, step: int = 0) -> None:
    now = NOW + timedelta(minutes=step)
    receipts = accept(raws, Sending(person, uuid.UUID(int=person.pk), sent_at=now, received_at=now))
    assert {one.state for one in receipts} <= {"accepted", "known"}, receipts


class RandomLedgers(TestCase):
    @settings(max_examples=30, deadline=None)
    @given(
        first=random_ledgers.ledgers(SITES[0], BAYS[:2], most=12),
        second=random_ledgers.ledgers(SITES[1], BAYS[2:], most=12),
        steps=st.lists(st.integers(0, 2) | random_ledgers.moments, min_size=1, max_size=5),
    )
    def test_nothing_but_names_goes(
        self, first: list[dict[str, Any]], second: list[dict[str, Any]], steps: list[int | datetime]
    ) -> None:
        Cooperative.objects.create(name="Random")
        sites, everybody = ground(), people()
        raws = [raw | {"words": f"words {number}"} for number, raw in enumerate([*first, *second])]
        for number, person in enumerate(everybody):
            take(raws[number::3], person, number)
        before, sums = report(), totals()
        for step in steps:
            if isinstance(step, datetime):
                take_off(Named(Entry.objects.filter(effective_at__lt=step), Parked.objects.none()))
            else:
                forget(everybody[step])
                assert not Entry.objects.filter(person=everybody[step]).exists()
            assert report() == before
            assert totals() == sums
            assert [line for site in sites for line in history.drift(site)] == []
        assert chain_holds()
        for site in sites:
            history.rebuild(site)
        assert report() == before


@pytest.fixture
def some(keep: Callable[..., Any], bay: Bay, member: Member, at: Callable[..., datetime]) -> Callable[..., Any]:
    """A load of Ada's in some month: `some(5)`."""

    def some(month: int, by: Member = member, **said: Any) -> Any:
        details = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
        return keep("dropoff", bay, at(month, 3), by=by, **details, **said)

    return some


def people_in(year: int) -> dict[str, int]:
    this = year_of(year)
    assert this
    rows = [row for row in funder_report.rows(this) if row.people is not None]
    return {f"{row.month:%m}" if row.month else row.site: row.people or 0 for row in rows}


def test_half_a_year_without_names_counts_nobody_twice(some, member: Member, other_member: Member, at) -> None:
    some(3), some(9), some(4, by=other_member)
    before = people_in(2026)
    assert before == {"03": 1, "04": 1, "09": 1, "Lane Side": 2}
    take_off(Named(Entry.objects.filter(effective_at__lt=at(6, 1)), Parked.objects.all()))
    assert Entry.objects.filter(person=None).count() == 2
    assert people_in(2026) == before
    take_off(Named(Entry.objects.all(), Parked.objects.all()))
    assert not Attendance.objects.exists()
    assert people_in(2026) == before


def test_a_year_that_begins_in_another_month_later_counts_the_same(some, member: Member, cooperative) -> None:
    some(3), some(9)
    Cooperative.objects.update(year_starts_in_month=6)
    before = {year: people_in(year) for year in (2025, 2026)}
    Cooperative.objects.update(year_starts_in_month=1)
    forget(member)
    Cooperative.objects.update(year_starts_in_month=6)
    assert {year: people_in(year) for year in (2025, 2026)} == before
    assert before[2025]["Lane Side"] == before[2026]["Lane Side"] == 1


def test_a_second_time_changes_nothing(some, member: Member) -> None:
    some(3, words="the blue barrow")
    everything = Named(Entry.objects.all(), Parked.objects.all())
    assert (everything.count(), take_off(everything)) == (1, 1)
    counts = list(Headcount.objects.values_list())
    assert (everything.count(), take_off(everything)) == (0, 0)
    assert list(Headcount.objects.values_list()) == counts


def test_many_entries_go_in_parts(some, member: Member, monkeypatch: pytest.MonkeyPatch) -> None:
    for month in (3, 4, 4, 5, 6):
        some(month)
    before = people_in(2026)
    monkeypatch.setattr("heaps.names.AT_ONCE", 2)
    forget(member)
    assert not Entry.objects.exclude(person=None, device=None, words="").exists()
    assert people_in(2026) == before


def test_a_notebook_s_mark_stays_because_it_is_nobody_s(some) -> None:
    some(3)
    Entry.objects.update(device=NOTEBOOK)
    take_off(Named(Entry.objects.all(), Parked.objects.all()))
    assert list(Entry.objects.values_list("person", "device")) == [(None, NOTEBOOK)]


def test_what_is_still_to_be_placed_goes_in_without_a_name(
    keep, bay: Bay, member: Member, coordinator: Member, at, site: Site
) -> None:
    unknown = Bay(uid=uuid.uuid4(), site=site)
    said = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
    receipt = keep("dropoff", unknown, at(3, 3), by=member, words="by the gate", wants="parked", **said)
    Parked.objects.update(raw=Parked.objects.get().raw.replace('"wire"', '"nick": "Ada", "wire"'))
    forget(member)
    one = Parked.objects.get()
    assert (one.person, one.device) == (None, None)
    assert "gate" not in one.raw and "Ada" not in one.raw
    placed = place(uuid.UUID(receipt.uid), {"bay-0": str(bay.uid)}, coordinator, at(3, 5))
    assert placed and placed.state == "accepted"
    entry = Entry.objects.get()
    assert (entry.bay, entry.person, entry.words) == (bay, None, "")


def test_undoing_an_entry_without_a_name_leaves_the_count(some, keep, member: Member, coordinator, at, site) -> None:
    uid = some(3).uid
    before = people_in(2026)
    forget(member)
    keep("correction", None, at(4, 1), corrects=uid, says="withdraw")
    assert people_in(2026) == before
    assert history.drift(site) == []
