"""The page for everybody: the same for all, no cookie, no name; one same answer for whatever is not there."""

import uuid
from collections.abc import Callable
from datetime import date

from django.test import Client
from django.urls import reverse

from heaps.models import Bay, Site
from members.models import Member

ClientOf = Callable[[Member | None], Client]
RARE = "Quillfeather"


def page_of(bay: Bay) -> str:
    answer = Client().get(reverse("heaps:public_bay", args=[bay.site.uid, bay.uid]))
    assert answer.status_code == 200
    return answer.content.decode()


def where(bay: Bay) -> tuple[str, str]:
    return reverse("heaps:public_site", args=[bay.site.uid]), reverse("heaps:public_bay", args=[bay.site.uid, bay.uid])


def test_it_says_what_goes_in_how_far_it_is_and_what_it_needs(site: Site, bay: Bay, keep, at) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=20, container_ml=10_000)
    site.open_times = "Saturday 10 to 12\nSunday 2 to 4"
    site.save()
    page = page_of(bay)
    assert "Filling</strong>. ✓ Takes more." in page
    assert "Browns: roughly" in page
    assert "✓ <strong>Grass clippings</strong>" in page
    assert "! <strong>Vegetable peelings</strong>, with care" in page
    assert "✕ <strong>Meat, fish, bones</strong>" in page
    assert "Saturday 10 to 12<br>Sunday 2 to 4" in page
    assert "testserver" in page


def test_a_rule_a_pause_and_a_full_bay_stand_on_it(site: Site, bay: Bay, at) -> None:
    site.gate_rules.create(feedstock="coffee", acceptance="never", reason="Rats came.", since=at(5, 1))
    site.pauses.create(what="green", until=date(2126, 5, 2), reason="It is wet.")
    site.pauses.create(what="brown", until=date(2025, 5, 2), reason="It was dry.")
    Bay.objects.filter(pk=bay.pk).update(is_full=True)
    page = page_of(bay)
    assert "✕ <strong>Coffee grounds</strong>: Rats came." in page
    assert "✓ <strong>Coffee grounds" not in page
    assert "No more greens until" in page and "It was dry." not in page
    assert "✕ Full: nothing more in here just now." in page
    assert "✕ Full: nothing more in here just now." in Client().get(where(bay)[0]).content.decode()


def test_a_leaf_bin_takes_leaves_only(site: Site) -> None:
    page = page_of(site.bays.get(kind="leaf"))
    assert "✓ Leaves only." in page and "✓ <strong>Autumn leaves, loose" in page
    assert "✓ <strong>Grass clippings" not in page


def test_no_name_stands_on_it(client_of: ClientOf, member: Member, site: Site, bay: Bay, keep, at, steward) -> None:
    for person in (member, steward):
        person.name = f"{person.name} {RARE}"
        person.save()
    keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=2, container_ml=10_000, by=member, words=RARE)
    site.donors.create(kind="stable", organisation=f"{RARE} Stables", contact=RARE)
    for client in (Client(), client_of(member), client_of(steward)):
        for address in where(bay):
            assert RARE not in client.get(address).content.decode()


def test_it_is_the_same_for_everybody_and_sets_no_cookie(client_of: ClientOf, coordinator: Member, bay: Bay) -> None:
    for address in where(bay):
        answers = [client.get(address) for client in (Client(), client_of(coordinator))]
        for answer in answers:
            assert "public" in answer["Cache-Control"]
            assert "max-age=3600" in answer["Cache-Control"]
            assert "Cookie" not in answer.headers.get("Vary", "")
            assert not answer.cookies
            assert b"<script" not in answer.content


def test_whatever_is_not_there_is_answered_alike(bay: Bay, second_bay: Bay, other_site: Site) -> None:
    gone = second_bay.uid
    second_bay.delete()
    wrong = [(bay.site.uid, uuid.uuid4()), (bay.site.uid, gone), (other_site.uid, bay.uid), (uuid.uuid4(), bay.uid)]
    addresses = [reverse("heaps:public_bay", args=pair) for pair in wrong]
    answers = [Client().get(one) for one in (*addresses, reverse("heaps:public_site", args=[uuid.uuid4()]))]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1


def test_a_site_without_bays_has_its_page(site: Site) -> None:
    site.bays.all().delete()
    assert "none yet" in Client().get(reverse("heaps:public_site", args=[site.uid])).content.decode()
