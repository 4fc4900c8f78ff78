"""The phone's door answers hostile entries with receipts in JSON, keeps their words as they are, and never breaks."""

import json
import uuid
from collections.abc import Iterator
from typing import Any

from django.test import Client
from django.utils import timezone

from heaps.models import Bay, Entry, Parked, Site
from heaps.wire import MOST_ENTRIES, MOST_WORDS
from members.models import Member
from tests.hostile.conftest import Laid
from tests.hostile.corpus import HOSTILE
from tests.hostile.reading import read
from tests.sendings import correction, load


def test_words_are_kept_as_they_are(peopled: Laid, bay: Bay, member: Member) -> None:
    receipts = sent(peopled.browsers["member"], member, [load(bay, words=text) for text in HOSTILE])
    assert {one["state"] for one in receipts} <= {"accepted", "refused"}
    fit = [text.replace("\x00", "").strip() for text in HOSTILE]
    assert list(Entry.objects.filter(person=member).order_by("pk").values_list("words", flat=True)) == [
        text for text in fit if len(text) <= MOST_WORDS
    ]


def test_every_other_field_is_checked(peopled: Laid, site: Site, bay: Bay, member: Member) -> None:
    before = Entry.objects.count()
    raws = [raw for text in HOSTILE for raw in spoiled(bay, site, text)]
    receipts = sent(peopled.browsers["member"], member, raws)
    assert len(receipts) == len(raws)
    assert {one["state"] for one in receipts} == {"refused"}
    assert all(one["reason"] for one in receipts)
    assert (Entry.objects.count(), Parked.objects.count()) == (before, 0)


def spoiled(bay: Bay, site: Site, text: str) -> Iterator[dict[str, Any]]:
    """Entries with the string in each place where something else is meant."""
    good = load(bay)
    for name in ("wire", "uid", "kind", "site", "bay", "occurred_at", "by_hand", "details"):
        yield good | {"uid": str(uuid.uuid4())} | {name: text}
    for name in ("feedstock", "half_containers", "container_ml", "weighed_g", text):
        yield good | {"uid": str(uuid.uuid4()), "details": good["details"] | {name: text}}
    yield correction(site, text)
    yield correction(site, str(uuid.uuid4()), says=text)
    look = {"temp_tenths_c": 300, "signs": [text]}
    yield good | {"uid": str(uuid.uuid4()), "kind": "reading", "details": look}


def test_a_probe_s_name_is_short_and_can_be_seen(peopled: Laid, bay: Bay, member: Member) -> None:
    raws = [load(bay, kind="reading", details={"temp_tenths_c": 300, "probe": text}) for text in HOSTILE]
    receipts = sent(peopled.browsers["member"], member, raws)
    taken = [text for text, one in zip(HOSTILE, receipts, strict=True) if one["state"] == "accepted"]
    assert "=1+1" in taken
    assert all(len(text) <= 20 and text.isprintable() for text in taken)
    file = json.loads(b"".join(peopled.browsers["member"].get("/me/everything.json").streaming_content))
    assert [one["details"]["probe"] for one in file["entries"]] == taken


def test_what_stands_around_the_entries_is_checked(peopled: Laid, bay: Bay, member: Member) -> None:
    around = ("device", "person", "sent_at", "entries")
    for number, text in enumerate(HOSTILE):
        name = around[number % len(around)]
        response = post(peopled.browsers["member"], letter(member, [load(bay)]) | {name: text})
        assert (response.status_code, read(response).wrong) == (400, []), (name, text)
        response = peopled.browsers["member"].post(
            "/sync/", text.encode("utf-8", "surrogatepass"), content_type="application/json"
        )
        assert (response.status_code, read(response).wrong) == (400, []), text
    assert not Entry.objects.filter(person=member).exists()


def sent(browser: Client, person: Member, raws: list[dict[str, Any]]) -> list[dict[str, str]]:
    """The receipts of all of them, sent as a phone does."""
    receipts: list[dict[str, str]] = []
    for first in range(0, len(raws), MOST_ENTRIES):
        response = post(browser, letter(person, raws[first : first + MOST_ENTRIES]))
        assert (response.status_code, read(response).wrong) == (200, [])
        receipts += response.json()["receipts"]
    return receipts


def letter(person: Member, raws: list[dict[str, Any]]) -> dict[str, Any]:
    sent_at = timezone.now().isoformat()
    return {"wire": 1, "device": str(uuid.UUID(int=5)), "person": str(person.uid), "sent_at": sent_at, "entries": raws}


def post(browser: Client, body: dict[str, Any]) -> Any:
    return browser.post("/sync/", json.dumps(body), content_type="application/json")
