"""Who gives: what each gave as corrected, by kind of giver to the gram, and nothing left of one that is erased."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from heaps import donors, history, ledger
from heaps.ledger.kinds import Dropoff
from heaps.models import Bay, DayTotal, Donor, Entry, Site
from heaps.science.materials import PUBLISHED
from tests import random_ledgers
from tests.cooperative.test_leaving import dump
from tests.heaps.test_history import BAYS, SITE, ground, people, take
from tests.recount import recounted

pytestmark = [pytest.mark.ledger, pytest.mark.django_db]
At = Callable[..., datetime]
COFFEE = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}


class RandomLedgers(TestCase):
    @settings(max_examples=40, deadline=None)
    @given(raws=random_ledgers.ledgers(SITE, BAYS), chance=st.randoms(use_true_random=False))
    def test_the_kinds_add_up_to_the_ledger_s_sums_month_by_month(self, raws: Any, chance: Any) -> None:
        site, (ada, _) = ground(), people()
        kinds = [Donor.objects.create(kind=kind, organisation="x", site=site) for kind in ("cafe", "stable", "cafe")]
        uids = [None, *(str(one.uid) for one in kinds)]
        given_by = {raw["uid"]: chance.choice(uids) for raw in raws}
        take([raw | {"donor": given_by[raw["uid"]]} for raw in raws], ada)
        for month in range(1, 9):
            found = donors.by_kind(date(2026, month, 1), date(2026, month + 1, 1))
            days = DayTotal.objects.filter(what="came in", day__month=month)
            assert sum(one.weighed_g + one.estimated_g for one in found) == sum(day.wet_g for day in days)
            assert sum(one.loads for one in found) == sum(day.entries for day in days)
            assert all(min(one.loads, one.weighed_g, one.estimated_g) >= 0 for one in found)
        whole = donors.by_kind(date(2026, 1, 1), date(2027, 1, 1))
        wanted = wanted_by_kind(given_by, {str(one.uid): one.get_kind_display() for one in kinds})
        assert {
            one.heading: one.weighed_g + one.estimated_g for one in whole if one.heading != "nobody named"
        } == wanted


def wanted_by_kind(given_by: dict[str, str | None], kinds: dict[str, Any]) -> dict[str, int]:
    """The same sums by a full replay of the ledger."""
    sums: dict[str, int] = {}
    for entry in ledger.replay(map(history.entry_of, Entry.objects.select_related("bay")), PUBLISHED).standing:
        donor, counted = given_by.get(entry.uid), ledger.amount_of(entry, PUBLISHED)
        if donor and counted and isinstance(entry.what, Dropoff) and counted[0].what == "came in":
            sums[kinds[donor]] = sums.get(kinds[donor], 0) + counted[1].wet_g
    return sums


@pytest.fixture
def stable(site: Site) -> Donor:
    return Donor.objects.create(kind="stable", organisation="Quibbleford Stables", contact="Ask Zebedee", site=site)


def test_what_one_gave_stands_as_corrected(keep: Any, bay: Bay, stable: Donor, at: At) -> None:
    first, second = (keep("dropoff", bay, at(5, day), **COFFEE).uid for day in (1, 2))
    third = keep("dropoff", bay, at(5, 3), **COFFEE, weighed_g=4_321).uid
    back = keep("dropoff", bay, at(5, 4), **{**COFFEE, "feedstock": "screened-oversize"}).uid
    Entry.objects.filter(uid__in=[first, second, third, back]).update(donor=stable)
    keep("correction", None, at(5, 5), corrects=first, says="withdraw")
    instead = {"says": "instead", "kind": "dropoff", "bay": str(bay.uid), "details": {**COFFEE, "half_containers": 6}}
    keep("correction", None, at(5, 6), corrects=second, **instead)
    found = donors.gifts(stable)
    (coffee,) = found.by_material
    assert (coffee.loads, coffee.weighed_g) == (2, 4_321)
    assert [load.uid for load in found.latest] == [third, second]
    assert Entry.objects.get(uid=second).donor == stable, "a correction changes no donor"


def test_a_load_that_a_correction_moves_into_the_year_counts_there(keep: Any, bay: Bay, stable: Donor, at: At) -> None:
    uid = keep("dropoff", bay, at(5, 1), by_hand=True, **COFFEE).uid
    Entry.objects.update(donor=stable)
    moved = {"says": "instead", "kind": "dropoff", "bay": str(bay.uid), "details": COFFEE}
    keep("correction", None, at(5, 2), corrects=uid, occurred_at="2024-02-03T10:00:00+00:00", **moved)
    found = donors.by_kind(date(2024, 1, 1), date(2025, 1, 1))
    assert [(one.heading, one.loads) for one in found] == [("stable or farm", 1), ("nobody named", 0)]
    assert donors.by_kind(date(2026, 1, 1), date(2027, 1, 1)) == []


def test_of_an_erased_donor_only_the_kind_is_left(keep: Any, bay: Bay, stable: Donor, at: At) -> None:
    keep("dropoff", bay, at(5, 1), **COFFEE)
    Entry.objects.update(donor=stable)
    year = (date(2026, 1, 1), date(2027, 1, 1))
    before, totals = donors.by_kind(*year), recounted()
    assert "Quibbleford" in dump() and "Zebedee" in dump()
    donors.erase(stable)
    after = dump()
    assert "Quibbleford" not in after and "Zebedee" not in after
    assert donors.by_kind(*year) == before and recounted() == totals
    assert donors.name_of(Entry.objects.get().donor) == "stable or farm, name not kept"


def test_households_have_no_name_to_lose(site: Site) -> None:
    assert donors.name_of(Donor.objects.create(kind="households")) == "households"
