"""What a phone hands in with a key, when nobody is signed in on it any more, waits for a coordinator."""

import json
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from heaps import parking
from heaps.models import Bay, Entry, Parked
from heaps.parking import HANDED_IN
from members.hand_over import key_of
from members.models import Member
from members.sessions import quiet
from tests.letters import body, load, post

pytestmark = pytest.mark.ledger

ClientOf = Callable[[Member | None], Client]


STRICT: dict[str, Any] = {"enforce_csrf_checks": True}  # what is handed in must need no token, what is sent must


def letter(person: Member, *entries: dict[str, Any], **changed: Any) -> dict[str, Any]:
    """What a phone hands in for somebody who is no longer signed in on it."""
    return body(person, list(entries), key=key_of(person), **changed)


def test_a_phone_no_longer_signed_in_hands_in_for_a_coordinator_to_look_at(member: Member, bay: Bay) -> None:
    entries = [load(bay), load(bay)]
    answer = post(Client(**STRICT), letter(member, *entries))
    assert answer.status_code == 200
    assert [one["state"] for one in answer.json()["receipts"]] == ["parked", "parked"]
    assert not Entry.objects.exists()
    assert {(one.person, one.device, one.reason) for one in Parked.objects.all()} == {
        (member, uuid.UUID(int=7), HANDED_IN)
    }
    again = post(Client(**STRICT), letter(member, *entries))
    assert [one["state"] for one in again.json()["receipts"]] == ["parked", "parked"]
    assert Parked.objects.count() == 2


def test_what_the_ledger_has_is_known_also_to_whoever_hands_it_in(
    client_of: ClientOf, member: Member, bay: Bay
) -> None:
    sent = load(bay)
    post(client_of(member), body(member, [sent]))
    (receipt,) = post(Client(), letter(member, sent)).json()["receipts"]
    assert receipt["state"] == "known"
    assert not Parked.objects.exists()


def test_a_correction_that_is_handed_in_changes_nothing_by_itself(
    client_of: ClientOf, member: Member, bay: Bay
) -> None:
    sent = load(bay)
    post(client_of(member), body(member, [sent]))
    undo = load(bay, kind="correction", details={"corrects": sent["uid"], "says": "withdraw"}) | {"bay": None}
    (receipt,) = post(Client(), letter(member, undo)).json()["receipts"]
    assert receipt["state"] == "parked"
    assert Entry.objects.count() == 1


def test_the_key_works_after_the_account_is_closed(former_member: Member, bay: Bay) -> None:
    assert post(Client(**STRICT), letter(former_member, load(bay))).status_code == 200
    assert Parked.objects.get().person == former_member


def test_after_leaving_no_name_phone_or_words_come_back(member: Member, bay: Bay) -> None:
    late = letter(member, load(bay, words="from Ada's own garden") | {"nick": "Ada"})
    member.delete()
    assert post(Client(**STRICT), late).json()["receipts"][0]["state"] == "parked"
    one = Parked.objects.get()
    assert (one.person, one.device) == (None, None)
    assert "Ada" not in one.raw and json.loads(one.raw)["details"]["feedstock"] == "grass-fresh"


@pytest.mark.parametrize("key", ["", "x", None, 5, ["x"], "\ud800", "a:b"])
def test_with_a_wrong_key_everything_stays_on_the_phone(member: Member, bay: Bay, key: Any) -> None:
    answer = post(Client(**STRICT), letter(member, load(bay)) | {"key": key})
    assert (answer.status_code, answer.json()["reason"][:7]) == (401, "Sign in")
    assert not Parked.objects.exists()


@pytest.mark.parametrize("person", ["", "nobody", None, 5, "\ud800"])
def test_the_key_of_one_hands_in_nothing_for_another(member: Member, bay: Bay, person: Any) -> None:
    assert post(Client(**STRICT), letter(member, load(bay)) | {"person": person}).status_code == 401
    assert not Parked.objects.exists()


def test_on_a_shared_phone_what_is_handed_in_is_not_the_one_s_who_is_signed_in(
    member: Member, other_member: Member, bay: Bay
) -> None:
    browser = Client(**STRICT)
    browser.force_login(other_member)
    assert post(browser, letter(member, load(bay))).status_code == 200
    assert Parked.objects.get().person == member
    assert post(browser, letter(other_member, load(bay)) | {"person": str(member.uid)}).status_code == 401


def test_a_key_does_not_take_the_token_s_place_while_its_person_is_signed_in(member: Member, bay: Bay) -> None:
    browser = Client(**STRICT)
    browser.force_login(member)
    assert post(browser, letter(member, load(bay))).status_code == 403
    assert not Entry.objects.exists() and not Parked.objects.exists()


def test_the_key_opens_nothing_else(member: Member, bay: Bay) -> None:
    key = key_of(member)
    assert len(key) == 43 and key != key_of(Member(uid=uuid.uuid4()))
    for page in ("/me/", "/heaps/", "/me/everything.json"):
        answer = Client().get(page, {"key": key, "person": str(member.uid)}, headers={"authorization": key})
        assert answer.status_code == 302


def test_more_than_can_be_looked_at_waits_on_its_phone(
    member: Member, other_member: Member, bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parking, "MOST_A_DAY", 3)
    first = [load(bay), load(bay)]
    assert post(Client(), letter(member, *first)).status_code == 200
    late = post(Client(), letter(member, load(bay), load(bay)))
    assert (late.status_code, int(late["Retry-After"])) == (429, 3600)
    assert Parked.objects.count() == 2, "all of a letter, or nothing"
    assert post(Client(), letter(member, load(bay), *first)).status_code == 200
    assert post(Client(), letter(other_member, load(bay), load(bay))).status_code == 200
    Parked.objects.update(received_at=timezone.now() - timedelta(days=1, minutes=1))
    assert post(Client(), letter(member, load(bay))).status_code == 200


def test_a_shared_phone_is_silent_of_nobody_once_everything_came(
    client_of: ClientOf, member: Member, other_member: Member, bay: Bay
) -> None:
    """A phone speaks of all that waits on it, whosever it is: four of two people, and then of none."""
    first = client_of(member)
    post(first, body(member, [load(bay)], waiting=4))
    first.post("/sign-out/")
    post(client_of(other_member), body(other_member, [load(bay) for _ in range(3)], waiting=3))
    assert not quiet(timezone.now() + timedelta(days=4)).exists()


def test_what_two_people_hand_in_ends_the_wait_of_both(
    client_of: ClientOf, member: Member, other_member: Member, bay: Bay
) -> None:
    for one in (member, other_member):
        post(client_of(one), body(one, [], waiting=5))
    assert quiet(timezone.now() + timedelta(days=4)).exists()
    post(Client(), letter(member, load(bay), load(bay), waiting=5))
    post(Client(), letter(other_member, *(load(bay) for _ in range(3)), waiting=3))
    assert not quiet(timezone.now() + timedelta(days=4)).exists()
