"""The board as a page: who sees it, what it asks of the database, what phones find on it."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client
from django.urls import reverse

from heaps.models import Bay, Parked, Site
from heaps.views.board import card
from members.models import Member

pytestmark = pytest.mark.ledger  # its questions to the database run on PostgreSQL too
ClientOf = Callable[[Member | None], Client]


def test_a_bay_shows_what_lies_in_it_and_what_it_needs(client_of: ClientOf, member, bay, keep, at, bucket) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=20, container_ml=10_000)
    page = client_of(member).get(reverse("heaps:board")).content.decode()
    assert f'data-bay="{bay.uid}"' in page
    assert "Grass clippings 20 kg" in page
    assert "100 litres, 20 kg tipped" in page
    assert "Fill not marked of late" in page
    assert "Browns: roughly" in page


def test_what_heaps_need_stands_above_them(client_of: ClientOf, member, site: Site, bay, keep, at) -> None:
    assert "No heap needs anything now." in above_the_heaps(client_of(member))
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=20, container_ml=10_000)
    Bay.objects.create(site=site, name="Spare", position=9, length_cm=100, width_cm=100, height_cm=100)
    above = above_the_heaps(client_of(member))
    assert bay.name in above
    assert "Browns: roughly" in above
    assert "Spare" not in above


def above_the_heaps(client: Client) -> str:
    """The board's page down to its first site."""
    return client.get(reverse("heaps:board")).content.decode().partition('id="site-1"')[0]


def test_no_name_of_a_person_stands_on_it(client_of: ClientOf, member, bay, keep, at) -> None:
    member.name = "Adalind Quillfeather"
    member.save()
    keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=2, container_ml=10_000, by=member)
    for address in (reverse("heaps:board"), reverse("heaps:heap", args=[bay.uid])):
        assert "Quillfeather" not in client_of(member).get(address).content.decode()


@pytest.mark.parametrize("bays", [1, 30])
def test_it_asks_seven_questions_of_the_database_however_many_bays(
    client_of: ClientOf, member, site: Site, keep, at, bays: int, django_assert_num_queries
) -> None:
    client = client_of(member)
    for number in range(bays):
        filled(site, number, keep, at)
    card.cache_clear()
    with django_assert_num_queries(8):  # the last: which sites the member coordinates
        client.get(reverse("heaps:board"))


def test_a_coordinator_reads_what_waits_in_one_question_more(
    client_of: ClientOf, coordinator, site, keep, at, django_assert_num_queries
) -> None:
    Parked.objects.create(uid=site.uid, received_at=at(5, 1), sent_at=at(5, 1), raw="{}", reason="?")
    client = client_of(coordinator)
    with django_assert_num_queries(8):
        page = client.get(reverse("heaps:board")).content.decode()
    assert "1 thing waits for you" in page


def test_a_member_does_not_read_what_waits(client_of: ClientOf, member, site, at) -> None:
    Parked.objects.create(uid=site.uid, received_at=at(5, 1), sent_at=at(5, 1), raw="{}", reason="?")
    assert "parked" not in client_of(member).get(reverse("heaps:board")).content.decode()


def filled(site: Site, number: int, keep: Callable[..., object], at: Callable[..., datetime]) -> Bay:
    """One more bay with a load in it."""
    bay = Bay.objects.create(
        site=site, name=f"Row {number}", position=10 + number, length_cm=100, width_cm=100, height_cm=100
    )
    keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=2 + number, container_ml=10_000)
    return bay
