"""What a phone is told at the gate."""

import json
import re
from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from heaps import gate
from heaps.models import Bay, Container, Donor, Site
from heaps.science.feedstocks import FEEDSTOCKS
from members.models import Member

At = Callable[..., datetime]
LOAD = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}


def only_site(now: datetime) -> dict[str, Any]:
    (site,) = gate.ground(now)["sites"]
    return dict(site)


def test_bays_stand_in_their_order_on_the_ground(site: Site, at: At) -> None:
    Bay.objects.filter(name="Bay 2").update(position=0)
    assert [bay["name"] for bay in only_site(at(5, 1))["bays"]] == ["Bay 2", "Bay 1", "Leaf bin"]


def test_the_filling_bay_fed_last_is_offered(keep: Any, bay: Bay, second_bay: Bay, at: At) -> None:
    keep("dropoff", second_bay, at(4, 1), **LOAD)
    keep("dropoff", bay, at(4, 2), **LOAD)
    assert only_site(at(5, 1))["fed"] == str(bay.uid)
    keep("dropoff", second_bay, at(4, 3), **LOAD)
    assert only_site(at(5, 1))["fed"] == str(second_bay.uid)


def test_a_closed_bay_says_so_and_is_not_offered(keep: Any, bay: Bay, second_bay: Bay, at: At) -> None:
    keep("dropoff", bay, at(4, 2), **LOAD)
    keep("close", bay, at(4, 3))
    found = only_site(at(5, 1))
    assert found["fed"] == str(second_bay.uid)
    assert found["bays"][0] == {
        "uid": str(bay.uid), "name": "Bay 1", "kind": "open", "stage": "working", "closed": True,
        "room": None, "sums": None, "holds": 1000, "lies": [6, 10],
    }  # fmt: skip


def test_a_leaf_bin_is_never_offered_for_everything(keep: Any, site: Site, at: At) -> None:
    leaf_bin = site.bays.get(kind="leaf")
    keep("dropoff", leaf_bin, at(4, 2), feedstock="leaves-oak", half_containers=2, container_ml=80_000)
    assert only_site(at(5, 1))["fed"] == str(site.bays.get(name="Bay 1").uid)


def test_what_is_brought_most_stands_first_with_its_usual_container(
    keep: Any, bay: Bay, bucket: Container, at: At
) -> None:
    barrow = Container.objects.get(name="barrow")
    for container in (barrow, bucket, bucket):
        keep(
            "dropoff",
            bay,
            at(4, 2),
            feedstock="hops",
            half_containers=2,
            container=str(container.uid),
            container_ml=1000,
        )
    found = only_site(at(5, 1))
    assert found["first"][0] == "hops"
    assert len(found["first"]) == len(set(found["first"])) == 5
    assert found["usual"] == {"hops": str(bucket.uid)}


def test_before_anything_was_brought_five_usual_ones_are_offered(site: Site, at: At) -> None:
    first = only_site(at(5, 1))["first"]
    assert len(first) == 5
    assert all(FEEDSTOCKS[key].acceptance in ("yes", "with care") for key in first)


def test_no_person_stands_in_it(keep: Any, bay: Bay, member: Member, at: At) -> None:
    keep("dropoff", bay, at(4, 2), **LOAD, by=member, words="left by Ada's gate")
    told = json.dumps(gate.ground(at(5, 1)))
    for secret in (member.name, member.username, str(member.uid), "gate"):
        assert not re.search(rf"\b{secret}\b", told)  # not within a number in hexadecimals


def test_who_gives_is_offered_by_organisation_or_kind_and_no_contact_leaves(
    site: Site, at: At, client_of: Callable[..., Client]
) -> None:
    assert only_site(at(5, 1))["donors"] == []
    here = Donor.objects.create(kind="stable", organisation="Hobb Stables", contact="Wilhelmina 07 77", site=site)
    everywhere = Donor.objects.create(kind="households", contact="Wilhelmina 07 77")
    Donor.objects.create(kind="cafe", organisation="Shut Cup", gives=False)
    Donor.objects.create(kind="cafe", organisation="Far Cup", site=Site.objects.create(name="Far"))
    far, lane_side = gate.ground(at(5, 1))["sites"]
    assert lane_side["donors"] == [
        {"uid": "", "name": "Nobody else"},
        {"uid": str(everywhere.uid), "name": "households"},
        {"uid": str(here.uid), "name": "Hobb Stables"},
    ]
    assert [one["name"] for one in far["donors"]] == ["Nobody else", "Far Cup", "households"]
    for where in ("/drop-off/", "/drop-off/now/"):
        told = client_of(None).get(where).content.decode()
        assert "Hobb Stables" in told and "Wilhelmina" not in told and "07 77" not in told


def test_as_many_bays_as_you_like_take_no_more_queries(
    keep: Any, site: Site, bay: Bay, at: At, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(20):
        Bay.objects.create(site=site, name=f"More {number}", position=9, length_cm=99, width_cm=99, height_cm=99)
    keep("dropoff", bay, at(4, 2), **LOAD)
    with django_assert_max_num_queries(9):
        gate.ground(at(5, 1))


@pytest.mark.django_db
def test_every_material_comes_with_its_word_and_what_to_do() -> None:
    told = {row[0]: row for row in gate.feedstocks()}
    assert set(told) == set(FEEDSTOCKS)
    assert told["meat-fish"][3] == "never"
    assert told["meat-fish"][5] == FEEDSTOCKS["meat-fish"].instead
    assert "loose" in str(told["grass-fresh"][2]).split()
    assert "grass" not in str(told["grass-fresh"][2]).split()


@pytest.mark.django_db
def test_the_page_is_the_same_whoever_asks(site: Site, member: Member, client_of: Callable[..., Client]) -> None:
    nobody, somebody = (client_of(person).get("/drop-off/") for person in (None, member))
    assert nobody.cookies == somebody.cookies == {}
    assert "Cookie" not in somebody.headers.get("Vary", "")
    assert member.name not in somebody.content.decode()
    assert without_time(nobody.content) == without_time(somebody.content)


def without_time(page: bytes) -> bytes:
    start = page.index(b'"as_of"')
    return page[:start] + page[page.index(b",", start) :]
