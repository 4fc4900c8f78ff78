"""The ledger that benches measure on is the one that the door would have made of the same entries."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from cooperative.bench import years
from heaps import history
from heaps.models import Attendance, DayTotal, Entry, Ledger, Site, StoredBay
from heaps.sync import Sending, accept, link

pytestmark = [pytest.mark.django_db, pytest.mark.ledger]

ENDING = datetime(2026, 5, 1, 12, tzinfo=UTC)
ENTRIES = 400


def test_it_says_what_the_door_says(monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[years.Said] = []
    append = years.append
    monkeypatch.setattr(years, "append", lambda told, *rest: (said.extend(told), append(told, *rest)))
    monkeypatch.setattr(years, "SITES", 1)  # four weeks
    years.fill(ENTRIES, ENDING)
    sites, people = list(Site.objects.all()), years.people()
    in_bulk = everything()
    for kept in (StoredBay, DayTotal, Attendance, Entry, Ledger):
        kept.objects.all().delete()
    for site in sites:
        history.rebuild(site)
    for who, raw in said:
        then = datetime.fromisoformat(raw["occurred_at"])
        later = then + timedelta(minutes=1)
        sending = Sending(people[who], uuid.UUID(int=who + 1), sent_at=later, received_at=later)
        (receipt,) = accept([raw], sending)
        assert receipt.state == "accepted", receipt
    assert len(said) == ENTRIES
    assert everything() == in_bulk


def everything() -> dict[str, Any]:
    chain = "0" * 64
    rows = list(Entry.objects.order_by("pk").values())
    for row in Entry.objects.order_by("pk"):
        chain = link(chain, row)
        assert row.chain == chain
    head = Ledger.objects.get()
    return {
        "entries": [{name: value for name, value in row.items() if name != "id"} for row in rows],
        "head": (head.chain, head.entries),
        "bays": {one.bay_id: one.state for one in StoredBay.objects.all()},
        "totals": sorted(DayTotal.objects.values_list(*years_key()), key=str),
        "attendance": sorted(Attendance.objects.values_list("site", "month", "person", "entries")),
        "drift": [line for site in Site.objects.all() for line in history.drift(site)],
    }


def years_key() -> list[str]:
    return [field.attname for field in DayTotal._meta.concrete_fields if not field.primary_key]
