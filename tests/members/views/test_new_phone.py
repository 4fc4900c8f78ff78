"""Another phone of one's own, a lost one of somebody else's, and who may give words for it."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from heaps.models import Site, Stewardship
from members import tickets
from members.models import Device, Member, Ticket

ClientOf = Callable[[Member | None], Client]
ROLES = ("is_coordinator", "is_treasurer", "is_administrator")


def words_on(page: bytes) -> list[str]:
    return re.findall(r"<span>(\w+)</span>", page.decode())


def test_another_phone_of_one_s_own(client_of: ClientOf, member: Member) -> None:
    first, second = client_of(member), Client()
    assert not Ticket.objects.exists() and first.get("/me/another-phone/").status_code == 200
    words = words_on(first.post("/me/another-phone/", {"x": "y"}).content)
    assert second.post("/words/", {"words": " ".join(words)})["Location"] == "/welcome/"
    assert second.get("/me/").status_code == first.get("/me/").status_code == 200
    assert Device.objects.filter(member=member, ended_at=None).count() == 2


@pytest.mark.parametrize("ends_others", [True, False])
def test_a_lost_phone_is_signed_out_if_that_is_wanted(
    client_of: ClientOf, coordinator: Member, member: Member, other_member: Member, ends_others: bool
) -> None:
    lost, others, helper = client_of(member), client_of(other_member), client_of(coordinator)
    said = {"ends_others": "on"} if ends_others else {"x": "y"}
    words = words_on(helper.post(f"/people/{member.uid}/new-phone/", said).content)
    assert lost.get("/me/").status_code == (302 if ends_others else 200)
    assert others.get("/me/").status_code == helper.get("/me/").status_code == 200
    new = Client()
    assert new.post("/words/", {"words": " ".join(words)})["Location"] == "/welcome/"
    assert new.get("/me/").status_code == 200
    assert Device.objects.filter(member=member).exclude(ended_at=None).count() == int(ends_others)


@pytest.mark.parametrize("role", ROLES)
def test_a_coordinator_helps_nobody_who_has_a_role(
    client_of: ClientOf, coordinator: Member, member: Member, administrator: Member, role: str
) -> None:
    Member.objects.filter(pk=member.pk).update(**{role: True})
    where = f"/people/{member.uid}/new-phone/"
    for ask in (client_of(coordinator).get, client_of(coordinator).post):
        assert ask(where, {"ends_others": "on"}).status_code == 403
    assert not Ticket.objects.exists()
    assert len(words_on(client_of(administrator).post(where, {"x": "y"}).content)) == 4


def test_a_coordinator_of_one_site_helps_members_and_no_other_coordinator(
    client_of: ClientOf, steward: Member, member: Member, other_member: Member, site: Site
) -> None:
    browser = client_of(steward)
    assert len(words_on(browser.post(f"/people/{member.uid}/new-phone/", {"x": "y"}).content)) == 4
    Stewardship.objects.create(site=site, member=other_member)
    assert browser.post(f"/people/{other_member.uid}/new-phone/", {"x": "y"}).status_code == 403
    Stewardship.objects.filter(member=steward).delete()
    assert client_of(Member.objects.get(pk=steward.pk)).get("/people/").status_code == 403


def test_a_closed_account_gets_no_words(client_of: ClientOf, administrator: Member, former_member: Member) -> None:
    assert client_of(administrator).post(f"/people/{former_member.uid}/new-phone/", {"x": "y"}).status_code == 404


def test_the_list_tells_names_and_roles_and_offers_help_where_it_may(
    client_of: ClientOf, coordinator: Member, treasurer: Member, member: Member, former_member: Member, steward: Member
) -> None:
    page = client_of(coordinator).get("/people/").content.decode()
    assert all(name in page for name in ("Ada", "Cleo", "Dov", "Gwen", "coordinator of Lane Side", "treasurer"))
    assert "Finn" not in page
    offered = set(re.findall(r"/people/([0-9a-f-]{36})/new-phone/", page))
    assert offered == {str(member.uid)}


def test_two_of_one_name_are_told_apart(client_of: ClientOf, coordinator: Member, member: Member) -> None:
    assert f"({member.username})" not in client_of(coordinator).get("/people/").content.decode()
    Member.objects.create(username="ada-2", name="ada")
    page = client_of(coordinator).get("/people/").content.decode()
    assert f"Ada ({member.username})" in page and "ada (ada-2)" in page and f"({coordinator.username})" not in page


def test_words_stand_on_their_page_only_once(client_of: ClientOf, member: Member) -> None:
    browser = client_of(member)
    words = words_on(browser.post("/me/another-phone/", {"x": "y"}).content)
    assert words_on(browser.get("/me/another-phone/").content) == []
    told = browser.get("/me/everything.json").getvalue().decode()
    assert '"you, on another phone"' in told and words[1] not in told
    assert tickets.by_words(words, timezone.now())


def test_the_number_of_questions_does_not_grow_with_the_people(
    client_of: ClientOf, coordinator: Member, django_assert_num_queries: Any
) -> None:
    browser = client_of(coordinator)
    for more in range(2):
        for number in range(10):
            Member.objects.create_member(f"m-{more}-{number}", f"M {number}")
        with django_assert_num_queries(4):
            browser.get("/people/")
