"""Coordinators of one site: what they look after, and that the ledger's door knows it."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest

from heaps.models import Bay, Entry, Parked, Question, Site, Stewardship
from heaps.stewards import Care, care_of, is_steward, parked_in
from members.access import holds
from members.models import Member

pytestmark = pytest.mark.ledger
A_BUCKET: dict[str, Any] = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
LAY_THERE = {"volume_ml": 100_000, "age_days": 30, "make_up": [["grass-fresh", 100]]}


@pytest.fixture
def far_bay(other_site: Site) -> Bay:
    return other_site.bays.get()


def test_each_looks_after_what_was_given_to_them(
    member: Member, coordinator: Member, administrator: Member, steward: Member, site: Site, other_site: Site
) -> None:
    sites = {site.pk, other_site.pk}
    looked_after = [{pk for pk in sites if pk in care_of(who)} for who in (None, member, coordinator, administrator)]
    assert looked_after == [set(), set(), sites, sites]
    assert {pk for pk in sites if pk in care_of(steward)} == {site.pk}
    assert [is_steward(who) for who in (member, coordinator, administrator, steward)] == [False, False, False, True]
    assert [holds(who, "steward") for who in (member, steward)] == [False, True]


def test_a_closed_account_looks_after_nothing(steward: Member, coordinator: Member, site: Site) -> None:
    for who in (steward, coordinator):
        who.is_active = False
        assert not care_of(who)
        assert site.pk not in care_of(who)
        assert not holds(who, "steward")


def test_the_database_is_asked_once(steward: Member, django_assert_num_queries: Callable[[int], Any]) -> None:
    with django_assert_num_queries(1):
        assert care_of(steward) and is_steward(steward)


@pytest.mark.parametrize("at_home", [True, False])
def test_bays_are_opened_at_one_s_own_site_only(
    keep, bay: Bay, far_bay: Bay, at, steward: Member, at_home: bool
) -> None:
    receipt = keep(
        "opening", bay if at_home else far_bay, at(5, 1), by=steward, wants=None if at_home else "refused", **LAY_THERE
    )
    assert ("Only a coordinator" in receipt.reason) is not at_home


@pytest.mark.parametrize("says", ["withdraw", "stands"])
def test_entries_of_others_are_mended_at_one_s_own_site_only(
    keep, bay: Bay, far_bay: Bay, at, member: Member, steward: Member, says: str
) -> None:
    here, there = (keep("dropoff", one, at(5, 1), by=member, **A_BUCKET) for one in (bay, far_bay))
    keep("correction", None, at(5, 2), by=steward, corrects=here.uid, says=says)
    # both ways of naming a site that is not one's own: the entry's true one, and one's own instead
    correct_there(there.uid, far_bay.site, says, steward, at(5, 2))
    correct_there(there.uid, bay.site, says, steward, at(5, 2))
    assert list(Entry.objects.filter(kind="correction").values_list("corrects", flat=True)) == [uuid.UUID(here.uid)]


def correct_there(entry: str, site: Site, says: str, who: Member, moment: Any) -> None:
    """A correction that must be refused, sent in the name of `site`."""
    from heaps.sync import Sending, accept

    raw = {
        "wire": 1,
        "uid": str(uuid.uuid4()),
        "kind": "correction",
        "site": str(site.uid),
        "bay": None,
        "occurred_at": moment.isoformat(),
        "details": {"corrects": entry, "says": says},
    }
    (receipt,) = accept([raw], Sending(who, None, sent_at=moment, received_at=moment))
    assert receipt.state == "refused"
    assert "nly " in receipt.reason


def test_what_waits_at_a_site_waits_for_its_coordinators(
    keep, site: Site, other_site: Site, at, member: Member, steward: Member, coordinator: Member
) -> None:
    nowhere = Site(uid=uuid.uuid4(), name="?")
    for place in (site, other_site, nowhere):
        keep("dropoff", Bay(uid=uuid.uuid4(), site=place), at(5, 1), by=member, wants="parked", **A_BUCKET)
    assert parked_in(care_of(coordinator)).count() == 3
    assert [one.raw.count(str(site.uid)) for one in parked_in(care_of(steward))] == [1]
    assert not parked_in(Care()).exists()
    Parked.objects.update(placed_at=at(5, 2))
    assert not parked_in(care_of(steward)).exists()


def test_sites_of_a_person_go_with_the_person(steward: Member, site: Site) -> None:
    assert Stewardship.objects.filter(site=site).count() == 1
    steward.delete()
    assert not Stewardship.objects.exists()


def test_only_rows_of_the_sites_looked_after_are_picked(keep, bay: Bay, far_bay: Bay, at, steward: Member) -> None:
    for one in (bay, far_bay):
        keep("dropoff", one, at(5, 1), **A_BUCKET)
    assert [row.bay for row in care_of(steward).of(Entry.objects.all())] == [bay]
    assert not Care().of(Question.objects.all()).exists()
