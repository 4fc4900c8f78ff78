"""Every page of the heaps opens for whoever may see it, with and without something in the bays."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from heaps.models import Parked
from heaps.science.feedstocks import FEEDSTOCKS
from members.models import Member

ClientOf = Callable[[Member | None], Client]
WORKING = ("home", "board", "collect", "guide", "tray")


@pytest.mark.parametrize("name", WORKING)
def test_it_opens_before_anything_is_recorded(client_of: ClientOf, coordinator, site, name: str) -> None:
    assert client_of(coordinator).get(reverse(f"heaps:{name}")).status_code == 200


def test_the_heap_page_of_an_empty_bay_opens(client_of: ClientOf, member, bay) -> None:
    page = client_of(member).get(reverse("heaps:heap", args=[bay.uid]))
    assert "Nothing lies here" in page.content.decode()


def test_it_opens_with_a_season_in_the_bays(client_of: ClientOf, coordinator, other_member, bay, second_bay, keep, at):
    keep("dropoff", bay, at(3, 1), feedstock="coffee", half_containers=3, container_ml=10_000, by=other_member)
    keep("dropoff", bay, at(3, 1, 10, 5), feedstock="coffee", half_containers=3, container_ml=10_000, words="one sack")
    keep("reading", bay, at(3, 2), temp_tenths_c=612, place="core", squeeze="holds", fill_per_cent=30)
    keep("dropoff", second_bay, at(3, 3), feedstock="straw-wheat", half_containers=8, container_ml=80_000)
    keep("close", bay, at(3, 5))
    keep("dropoff", bay, at(3, 6), feedstock="tea-leaves", half_containers=2, container_ml=10_000)
    keep("turn", second_bay, at(4, 1), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    keep("harvest", bay, at(4, 2), half_bags=3, bag_ml=40_000, per_cent=50, sieved="coarse")
    client = client_of(coordinator)
    for name in WORKING:
        assert client.get(reverse(f"heaps:{name}")).status_code == 200
    page = client.get(reverse("heaps:heap", args=[second_bay.uid])).content.decode()
    assert "Bay 1, 1 Mar 2026 – 1 Apr 2026" in page
    assert "61 °C core" in page
    year = client.get(reverse("heaps:year", args=[2026])).content.decode()
    assert FEEDSTOCKS["straw-wheat"].name in year
    said = client.get(reverse("heaps:tray")).content.decode()
    assert "Was it one load?" in said and "Recorded by Bela." in said and "one sack" in said
    assert "This bay was empty when bags were taken out of it." in said


def test_a_year_no_calendar_has_is_not_found(client_of: ClientOf, coordinator) -> None:
    assert client_of(coordinator).get("/year/99999999999999999999/").status_code == 404


def test_the_first_page_tells_a_stranger_what_this_is(client_of: ClientOf, cooperative) -> None:
    page = client_of(None).get(reverse("heaps:home")).content.decode()
    assert "without signal" in page and reverse("members:sign_in") in page and 'href="/heaps/"' not in page


def test_the_tray_shows_a_parked_entry_readably(client_of: ClientOf, coordinator, member, site, keep, at) -> None:
    stranger = "11111111-1111-4111-8111-111111111111"
    site_bay = site.bays.first()
    uid = "22222222-2222-4222-8222-222222222222"
    raw = {"feedstock": "coffee", "half_containers": 4, "container_ml": 10_000}
    Parked.objects.all().delete()
    lost = type(site_bay)(uid=stranger, site=site)
    keep("dropoff", lost, at(5, 1), uid=uid, by=member, wants="parked", **raw)
    page = client_of(coordinator).get(reverse("heaps:tray")).content.decode()
    assert "2 × 10 litres of Coffee grounds into a bay not known here" in page
