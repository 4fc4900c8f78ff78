"""One load's page: the bays it lay in, the bags that came out, who fetched bags since, and the tests of its heaps."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import pytest

from heaps.models import Bay, BeanTest, Donor, Entry, Site
from heaps.names import forget
from heaps.whereabouts import bean_tests_of, may_give, whereabouts
from members.models import Member

At = Callable[..., datetime]
MANURE = {"feedstock": "horse-manure", "half_containers": 2, "container_ml": 80_000}
BAGS = {"bag_ml": 40_000, "sieved": "sieved"}


@pytest.fixture
def load(keep: Any, bay: Bay, second_bay: Bay, member: Member, other_member: Member, at: At) -> Entry:
    """A load of 3 May, turned on the 10th by half, harvested on the 20th, with bags fetched before and after."""
    uid = keep("dropoff", bay, at(5, 3), by=member, **MANURE).uid
    keep("collection", None, at(5, 4), by=other_member, half_bags=2, bag_ml=40_000)
    keep("turn", second_bay, at(5, 10), sources=[{"bay": str(bay.uid), "per_cent": 50}])
    keep("harvest", second_bay, at(5, 20), half_bags=5, per_cent=100, **BAGS)
    keep("collection", None, at(5, 21), by=other_member, half_bags=3, bag_ml=40_000)
    keep("collection", None, at(5, 22), by=member, half_bags=1, bag_ml=40_000)
    return row(uid)


def row(uid: str) -> Entry:
    return Entry.objects.select_related("site", "bay").get(uid=uid)


def test_a_load_is_followed_through_every_bay(load: Entry, at: At) -> None:
    found = whereabouts(load, at(6, 1))
    assert found.load and (found.load.material, found.load.day) == ("Horse manure", date(2026, 5, 3))
    assert [(lay.bay, lay.by_turn, lay.ended, lay.onward) for lay in found.lays] == [
        ("Bay 1", False, None, ""),
        ("Bay 2", True, date(2026, 5, 20), "all harvested"),
    ]
    assert [(one.bay, one.half_bags, one.per_cent) for one in found.taken_out] == [("Bay 2", 5, 100)]
    assert [one.bay for one in found.lies_in] == ["Bay 1"]
    assert found.first_bags == date(2026, 5, 20)


def test_whoever_fetched_bags_since_is_named_until_their_name_goes(load: Entry, other_member: Member, at: At) -> None:
    fetched = [(one.day.day, one.half_bags, one.person) for one in whereabouts(load, at(6, 1)).fetched]
    assert fetched == [(21, 3, "Bela"), (22, 1, "Ada")]
    forget(other_member)
    assert whereabouts(load, at(6, 1)).fetched[0].person == "somebody whose name is not kept"


def test_a_collection_taken_back_is_nobody_s(load: Entry, keep: Any, at: At) -> None:
    last = Entry.objects.filter(kind="collection").latest("pk")
    keep("correction", None, at(5, 25), corrects=str(last.uid), says="withdraw")
    assert [one.person for one in whereabouts(load, at(6, 1)).fetched] == ["Bela"]


def test_a_load_taken_back_lies_nowhere(load: Entry, keep: Any, at: At) -> None:
    keep("correction", None, at(5, 25), corrects=str(load.uid), says="withdraw")
    found = whereabouts(load, at(6, 1))
    assert (found.load, found.lays, found.fetched, found.lies_in) == (None, (), (), ())


def test_a_bay_that_was_turned_out_says_where_to(keep: Any, bay: Bay, second_bay: Bay, at: At) -> None:
    uid = keep("dropoff", bay, at(5, 3), **MANURE).uid
    keep("turn", second_bay, at(5, 4), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    keep("tip_out", second_bay, at(5, 9))
    found = whereabouts(row(uid), at(6, 1))
    assert [lay.onward for lay in found.lays] == ["turned into Bay 2", "emptied, nothing harvested"]
    assert (found.fetched, found.first_bags, found.lies_in) == ((), None, ())


def test_a_heap_tells_of_the_bean_tests_of_its_loads(load: Entry, bay: Bay, second_bay: Bay, at: At) -> None:
    test = BeanTest.objects.create(entry=load, sown_on=date(2026, 5, 6))
    assert bean_tests_of(bay) == [test]
    assert bean_tests_of(second_bay) == []


def test_who_may_have_given_a_load(site: Site) -> None:
    here = Donor.objects.create(kind="cafe", organisation="Long Cup", site=site, gives=False)
    everywhere = Donor.objects.create(kind="households")
    Donor.objects.create(kind="cafe", organisation="Far Cup", site=Site.objects.create(name="Far"))
    Donor.objects.create(kind="cafe", site=site, gives=False)  # erased
    assert may_give(site) == [here, everywhere]
