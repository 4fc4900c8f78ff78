"""What one person sends from a phone does nothing with another's session, and mends nothing of another's."""

import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from heaps.models import Bay
from members.models import Member
from tests.rows import BOOKKEEPING, digest_of_rows

pytestmark = pytest.mark.ledger
A_BUCKET: dict[str, Any] = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}


@pytest.fixture
def letter(bay: Bay) -> Callable[..., dict[str, Any]]:
    """What a phone sends for somebody: one entry."""

    def letter(person: Member, kind: str, /, **details: Any) -> dict[str, Any]:
        entry = {
            "wire": 1,
            "uid": str(uuid.uuid4()),
            "kind": kind,
            "site": str(bay.site.uid),
            "bay": None if kind == "correction" else str(bay.uid),
            "occurred_at": "2026-05-01T10:00:00Z",
            "details": details,
        }
        who = {"device": str(uuid.uuid4()), "person": str(person.uid), "sent_at": "2026-05-01T10:00:00Z"}
        return {"wire": 1, "waiting": 1, "entries": [entry], **who}

    return letter


def send(browser: Client, letter: dict[str, Any]) -> Any:
    return browser.post(reverse("heaps:sync"), json.dumps(letter), content_type="application/json")


def test_a_letter_is_taken_from_whose_it_is(letter, others: dict[str, Client], client_of, member: Member) -> None:
    said = letter(member, "dropoff", **A_BUCKET)
    before = digest_of_rows(BOOKKEEPING)
    answers = {who: send(browser, said).status_code for who, browser in others.items()}
    assert answers.pop("nobody") == answers.pop("somebody whose account was closed") == 401
    assert set(answers.values()) == {409}
    assert digest_of_rows(BOOKKEEPING) == before
    assert send(client_of(member), said).json()["receipts"][0]["state"] == "accepted"


@pytest.mark.parametrize("says", ["withdraw", "instead", "stands"])
def test_nobody_mends_what_another_recorded(
    letter, others: dict[str, Client], client_of, member: Member, other_member: Member, bay: Bay, says: str
) -> None:
    first = letter(member, "dropoff", **A_BUCKET)
    send(client_of(member), first)
    details = {"corrects": first["entries"][0]["uid"], "says": says}
    if says == "instead":
        details |= {"kind": "dropoff", "bay": str(bay.uid), "details": {**A_BUCKET, "half_containers": 4}}
    before = digest_of_rows(BOOKKEEPING)
    for username, who in (("bela", "a member"), ("hugo", "the coordinator of another site")):
        forged = letter(Member.objects.get(username=username), "correction", **details)
        (receipt,) = send(others[who], forged).json()["receipts"]
        assert receipt["state"] == "refused", who
        assert send(others[who], {**forged, "person": str(member.uid)}).status_code == 409
    assert digest_of_rows(BOOKKEEPING) == before
    if says != "stands":
        own = letter(member, "correction", **details)
        assert send(client_of(member), own).json()["receipts"][0]["state"] == "accepted"
