"""The last administrator cannot vanish, whichever way two of them go at the same moment."""

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection, connections
from django.test import Client

from members.models import Member
from tests.conftest import PASSWORD

pytestmark = pytest.mark.ledger

Way = Callable[[Client, Member, Member], Any]


def closes_the_other(browser: Client, own: Member, other: Member) -> Any:
    return browser.post(f"/set-up/people/{other.uid}/", {"account": "close"})


def takes_the_role_from_the_other(browser: Client, own: Member, other: Member) -> Any:
    return browser.post(f"/set-up/people/{other.uid}/", {"name": other.name, "username": other.username})


def gives_up_the_role(browser: Client, own: Member, other: Member) -> Any:
    return browser.post(f"/set-up/people/{own.uid}/", {"name": own.name, "username": own.username})


def leaves(browser: Client, own: Member, other: Member) -> Any:
    return browser.post("/me/leave/", {"password": PASSWORD})


def erases_the_other(browser: Client, own: Member, other: Member) -> Any:
    return browser.post(f"/set-up/people/{other.uid}/erase/", {"password": PASSWORD})


WAYS = (closes_the_other, takes_the_role_from_the_other, gives_up_the_role, leaves, erases_the_other)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("other_way", [gives_up_the_role, leaves])
def test_two_at_once_leave_one(client_of, administrator: Member, member: Member, way: Way, other_way: Way) -> None:
    Member.objects.filter(pk=member.pk).update(is_administrator=True)
    start, answers = threading.Barrier(2), []

    def go(how: Way, own: Member, other: Member, browser: Client) -> None:
        try:
            start.wait()
            answers.append(how(browser, own, other).status_code)
        finally:
            connections.close_all()

    pairs = ((way, administrator, member), (other_way, member, administrator))
    threads = [threading.Thread(target=go, args=(*pair, client_of(pair[1]))) for pair in pairs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 2
    assert Member.objects.filter(is_administrator=True, is_active=True).count() == 1
    connection.close()


@pytest.mark.parametrize("way", [leaves, gives_up_the_role])
def test_the_only_one_stays(client_of, administrator: Member, member: Member, way: Way) -> None:
    way(client_of(administrator), administrator, member)
    assert Member.objects.get(is_administrator=True, is_active=True) == administrator


@pytest.mark.parametrize("raises", ["is_coordinator", "is_treasurer", "is_administrator"])
@pytest.mark.parametrize("who", ["member", "steward", "coordinator", "treasurer"])
def test_nobody_raises_themselves(client_of, raises: str, who: str, request, cooperative) -> None:
    person: Member = request.getfixturevalue(who)
    browser, before = client_of(person), Member.objects.values().get(pk=person.pk)
    said = {"name": person.name, "username": person.username, "is_coordinator": "on", raises: "on"}
    assert browser.post(f"/set-up/people/{person.uid}/", said).status_code == 403
    browser.post("/password/", {"old": PASSWORD, "new": PASSWORD, raises: "on"})
    after = Member.objects.values().get(pk=person.pk)
    hashes = {"password": "", "last_login": None}
    assert after | hashes == before | hashes
