"""What a phone meets at /sync/: receipts, or an answer that leaves everything waiting."""

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
from members.models import Device, Member
from tests.conftest import PASSWORD

pytestmark = pytest.mark.ledger

ClientOf = Callable[[Member | None], Client]


def body(person: Member, entries: Any, **changed: Any) -> dict[str, Any]:
    return {
        "wire": 1,
        "device": str(uuid.UUID(int=7)),
        "person": str(person.uid),
        "sent_at": "2026-05-01T10:00:00.000Z",
        "waiting": 1,
        "entries": entries,
    } | changed


def load(bay: Bay, **changed: Any) -> dict[str, Any]:
    return {
        "wire": 1,
        "uid": str(uuid.uuid4()),
        "kind": "dropoff",
        "site": str(bay.site.uid),
        "bay": str(bay.uid),
        "occurred_at": "2026-05-01T09:00:00Z",
        "by_hand": False,
        "details": {"feedstock": "grass-fresh", "half_containers": 4, "container_ml": 40_000},
        "words": "",
    } | changed


def post(client: Client, content: Any, content_type: str = "application/json") -> Any:
    text = content if isinstance(content, str | bytes) else json.dumps(content)
    return client.post("/sync/", text, content_type=content_type)


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
