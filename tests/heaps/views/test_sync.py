"""What a phone meets at /sync/: receipts, or an answer that leaves everything waiting."""

import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from heaps.models import Bay, Entry
from members.models import Device, Member
from tests.conftest import PASSWORD
from tests.letters import body, load, post

pytestmark = pytest.mark.ledger

ClientOf = Callable[[Member | None], Client]


def test_a_look_says_who_is_signed_in(client_of: ClientOf, member: Member) -> None:
    nobody, somebody = client_of(None).get("/sync/").json(), client_of(member).get("/sync/").json()
    assert (nobody["person"], nobody["csrf"]) == (None, None)
    assert somebody["person"] == str(member.uid)
    assert somebody["epoch"] == nobody["epoch"]
    assert len(somebody["csrf"]) == 64
    assert "Ada" not in json.dumps(somebody)


def test_a_look_that_comes_back_late_does_not_spoil_the_sign_in(member: Member) -> None:
    strict = Client(enforce_csrf_checks=True)
    token = strict.get("/sign-in/").context["csrf_token"]
    assert not Client().get("/sync/").cookies, "its cookie would take the place of the one the form was made with"
    said = {"username": "ada", "password": PASSWORD, "csrfmiddlewaretoken": str(token)}
    assert strict.post("/sign-in/", said).status_code == 302


def test_receipts_come_back_one_an_entry(client_of: ClientOf, member: Member, bay: Bay) -> None:
    entries = [load(bay), load(bay, kind="party")]
    answer = post(client_of(member), body(member, entries))
    assert answer.status_code == 200
    assert answer["Cache-Control"].count("no-store")
    receipts = answer.json()["receipts"]
    assert [(one["uid"], one["state"]) for one in receipts] == [
        (entries[0]["uid"], "accepted"),
        (entries[1]["uid"], "refused"),
    ]


def test_nobody_signed_in_stores_nothing(client_of: ClientOf, member: Member, bay: Bay) -> None:
    answer = post(client_of(None), body(member, [load(bay)]))
    assert answer.status_code == 401
    assert not Entry.objects.exists()


def test_one_persons_entries_are_never_taken_as_anothers(
    client_of: ClientOf, member: Member, other_member: Member, bay: Bay
) -> None:
    answer = post(client_of(other_member), body(member, [load(bay)]))
    assert answer.status_code == 409
    assert not Entry.objects.exists()


def test_without_its_token_nothing_is_stored(member: Member, bay: Bay) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(member)
    assert post(strict, body(member, [load(bay)])).status_code == 403
    token = strict.get("/sync/").json()["csrf"]
    answer = strict.post(
        "/sync/", json.dumps(body(member, [load(bay)])), content_type="application/json", headers={"X-CSRFToken": token}
    )
    assert answer.status_code == 200
    assert Entry.objects.count() == 1


@pytest.mark.parametrize(
    ("content", "status"),
    [
        ("{", 400),
        (b"\xff\xfe{}", 400),
        ("[]", 400),
        ("null", 400),
        ('{"entries": 5}', 400),
        ("[" * 100_000, 400),
        ('{"entries": [' + "1" * 5000 + "]}", 400),  # no person
        (b"x" * 10_000_000, 413),
    ],
)
def test_what_cannot_be_read_is_answered_and_stores_nothing(
    client_of: ClientOf, member: Member, content: Any, status: int
) -> None:
    answer = post(client_of(member), content)
    assert answer.status_code == status
    assert answer.json()["reason"]
    assert not Entry.objects.exists()


def test_plain_text_is_no_list_of_entries(client_of: ClientOf, member: Member, bay: Bay) -> None:
    assert post(client_of(member), body(member, [load(bay)]), "text/plain").status_code == 415


def test_not_a_number_spoils_only_its_own_entry(client_of: ClientOf, member: Member, bay: Bay) -> None:
    good, bad, huge = load(bay), load(bay), load(bay)
    bad["details"]["half_containers"] = float("nan")
    text = json.dumps(body(member, [good, bad, huge])).replace(
        '"half_containers": 4', '"half_containers": ' + "9" * 5000
    )
    text = text.replace('"half_containers": ' + "9" * 5000, '"half_containers": 4', 1)
    receipts = post(client_of(member), text).json()["receipts"]
    assert [one["state"] for one in receipts] == ["accepted", "refused", "refused"]


@pytest.mark.parametrize("odd", [float("nan"), float("inf"), -float("inf")])
def test_a_weight_that_is_no_number_is_not_left_out(client_of: ClientOf, member: Member, bay: Bay, odd: float) -> None:
    raw = load(bay)
    raw["details"]["weighed_g"] = odd
    (receipt,) = post(client_of(member), body(member, [load(bay), raw])).json()["receipts"][1:]
    assert (receipt["state"], receipt["uid"]) == ("refused", raw["uid"])
    assert "weight" in receipt["reason"]


def test_no_depth_of_lists_is_too_much(client_of: ClientOf, member: Member, bay: Bay) -> None:
    """An entry for an unknown bay is written down again, which takes more than reading it."""
    client = client_of(member)
    for depth in range(700, 1000, 3):
        text = json.dumps(body(member, [load(bay) | {"bay": str(uuid.uuid4()), "extra": "deep"}]))
        assert post(client, text.replace('"deep"', "[" * depth + "]" * depth)).status_code in (200, 400)


@pytest.mark.parametrize("form", ["{%s}", "urn:uuid:%s", " %s", "%s\n"])
def test_a_receipt_carries_the_number_that_was_sent(client_of: ClientOf, member: Member, bay: Bay, form: str) -> None:
    sent = [form % uuid.uuid4(), str(uuid.uuid4()).upper(), uuid.uuid4().hex, str(uuid.uuid4())]
    receipts = post(client_of(member), body(member, [load(bay, uid=uid) for uid in sent])).json()["receipts"]
    assert [one["uid"] for one in receipts] == sent
    assert [one["state"] for one in receipts] == ["refused"] * 3 + ["accepted"]


def test_at_most_fifty_at_once(client_of: ClientOf, member: Member, bay: Bay) -> None:
    answer = post(client_of(member), body(member, [load(bay) for _ in range(51)]))
    assert answer.status_code == 400
    assert "50" in answer.json()["reason"]
    assert not Entry.objects.exists()


@pytest.mark.parametrize("sent_at", ["0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z"])
def test_a_mad_clock_loses_nothing(client_of: ClientOf, member: Member, bay: Bay, sent_at: str) -> None:
    answer = post(client_of(member), body(member, [load(bay, occurred_at=sent_at)], sent_at=sent_at))
    assert [one["state"] for one in answer.json()["receipts"]] == ["accepted"]


def test_the_device_knows_its_phone_and_what_still_waits_on_it(client_of: ClientOf, member: Member, bay: Bay) -> None:
    browser = client_of(member)
    post(browser, body(member, [load(bay), load(bay, kind="party")], waiting=5))
    device = Device.objects.get()
    assert (device.phone, device.waiting) == (uuid.UUID(int=7), 4)


@pytest.mark.parametrize("waiting", [-1, 10**9, True, "3", None, 1.5])
def test_an_odd_number_that_waits_is_not_kept_and_costs_nothing(
    client_of: ClientOf, member: Member, bay: Bay, waiting: Any
) -> None:
    assert post(client_of(member), body(member, [load(bay)], waiting=waiting)).status_code == 200
    assert Device.objects.get().waiting is None
