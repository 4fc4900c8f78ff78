"""Somebody's own page: what they brought, followed through turns as replay moves it."""

from collections import defaultdict
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from heaps import history, ledger
from heaps.ledger.kinds import Dropoff
from heaps.mine import Brought, mine
from heaps.models import Bay, Entry
from heaps.names import forget
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.materials import PUBLISHED
from heaps.tracing import follow
from members.models import Member
from tests import random_ledgers
from tests.heaps.test_history import BAYS, SITE, ground, people, take

NOW = datetime(2026, 11, 1, tzinfo=UTC)
Load = Callable[..., Any]


class RandomLedgers(TestCase):
    @settings(max_examples=60, deadline=None)
    @given(raws=random_ledgers.ledgers(SITE, BAYS), every=st.integers(1, 3))
    def test_loads_lie_where_the_lineage_of_the_heaps_says(self, raws: list[dict[str, Any]], every: int) -> None:
        """Followed load by load, against the places and times in which replay says that each heap's matter lay."""
        site, (ada, _) = ground(), people()
        raws = [raw for raw in raws if raw["kind"] != "opening"]  # reaches back into a time when another heap lay there
        take(raws, ada)
        entries = ledger.replay(map(history.entry_of, Entry.objects.select_related("bay")), PUBLISHED).standing
        assume(len({entry.at for entry in entries}) == len(entries))
        loads = [entry for entry in entries if isinstance(entry.what, Dropoff)][::every]
        wanted = defaultdict(set)
        for bay, state in history.current_states([site.pk]).items():
            if state.batch:
                here = (state.batch.bay, state.batch.began, NOW)
                lays = [here, *((one.bay, one.began, one.ended) for one in state.batch.ancestors.values())]
                wanted[bay] = {
                    load.uid
                    for load in loads
                    for lay, began, ended in lays
                    if load.bay == lay and began <= load.at < ended
                }
        lying = follow(site, loads).lying
        assert {bay: uids for bay, uids in lying.items() if uids} == {bay: uids for bay, uids in wanted.items() if uids}


@pytest.fixture
def load(keep, bay: Bay, member: Member, at: Callable[..., datetime]) -> Load:
    """Two buckets of something brought by Ada on a day of May."""

    def load(day: int, by: Member = member, into: Bay = bay, **said: Any) -> Any:
        details = {"feedstock": "coffee", "half_containers": 4, "container_ml": 10_000}
        return keep("dropoff", into, at(5, day), by=by, **{**details, **said})

    return load


def test_what_was_brought_stands_as_corrected(load: Load, keep, bay: Bay, member, other_member, at) -> None:
    load(1), load(2, weighed_g=4_321), load(3, by=other_member), load(4, feedstock="screened-oversize")
    keep("correction", None, at(5, 6), corrects=load(5).uid, says="withdraw")
    changed = {"feedstock": "cardboard", "half_containers": 1, "container_ml": 10_000, "weighed_g": 700}
    said = {"says": "instead", "kind": "dropoff", "bay": str(bay.uid), "details": changed}
    keep("correction", None, at(5, 7), corrects=load(5).uid, **said)
    keep("hours", None, at(5, 8), by=member, minutes=50, people=3)
    found = mine(member, NOW)
    coffee, cardboard = found.brought
    assert (coffee.loads, coffee.weighed_g) == (2, 4_321)
    assert coffee.estimated_g == 20 * FEEDSTOCKS["coffee"].density_kg_m3
    assert (cardboard.loads, cardboard.weighed_g, cardboard.estimated_g) == (1, 700, 0)
    assert found.minutes == 150


def test_bags_are_counted_while_a_load_lies_in_the_heap(
    load: Load, keep, bay, second_bay, member, other_member, at
) -> None:
    bags = {"bag_ml": 40_000, "sieved": "sieved"}
    load(1, by=other_member)
    keep("harvest", bay, at(5, 2), half_bags=3, per_cent=10, **bags)  # before Ada's load
    load(3)
    keep("turn", second_bay, at(5, 4), sources=[{"bay": str(bay.uid), "per_cent": 50}])
    keep("harvest", second_bay, at(5, 5), half_bags=5, per_cent=100, **bags)
    load(6, by=other_member, into=second_bay)
    keep("harvest", second_bay, at(5, 7), half_bags=7, per_cent=50, **bags)  # another heap by then
    keep("harvest", bay, at(5, 8), half_bags=2, per_cent=20, **bags)
    found = mine(member, NOW)
    assert (found.half_bags, found.harvests) == (7, 2)
    assert [(heap.bay, heap.loads) for heap in found.lies_in] == [("Bay 1", 1)]
    keep("tip_out", bay, at(5, 9))
    assert mine(member, NOW).lies_in == ()


def test_a_bay_that_was_turned_out_holds_no_load_any_more(load: Load, keep, bay: Bay, second_bay, member, at) -> None:
    load(1)
    keep("turn", second_bay, at(5, 4), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    load(5, by=None)
    assert [(heap.bay, heap.loads) for heap in mine(member, NOW).lies_in] == [("Bay 2", 1)]


def test_nobody_else_s_loads_stand_there_and_none_after_the_name_has_gone(load: Load, member, other_member) -> None:
    load(1)
    assert mine(other_member, NOW).brought == ()
    assert mine(member, NOW).brought == (Brought("Coffee grounds", 1, 0, mine(member, NOW).brought[0].estimated_g),)
    forget(member)
    assert mine(member, NOW).brought == ()


def test_the_page_says_it_in_words(
    load: Load, keep, bay: Bay, member, at, client_of: Callable[[Member], Client]
) -> None:
    load(1), load(2, weighed_g=4_300)
    keep("harvest", bay, at(5, 8), half_bags=5, per_cent=20, bag_ml=40_000, sieved="coarse")
    answer = client_of(member).get("/me/")
    page = " ".join(answer.content.decode().split())
    assert "4.3 kg" in page and "2½ bags came out of these heaps, in 1 harvest." in page
    assert "2 loads of yours went in" in page and f"/heaps/{bay.uid}/" in page
    assert "no-store" in answer["Cache-Control"]


def test_its_questions_to_the_database_do_not_grow(
    load: Load, member: Member, client_of: Callable[[Member], Client]
) -> None:
    counts = []
    for days in (range(1, 3), range(3, 20)):
        for day in days:
            load(day)
        with CaptureQueriesContext(connection) as asked:
            client_of(member).get("/me/")
        counts.append(len(asked))
    assert counts[0] == counts[1]
