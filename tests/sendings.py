"""Sendings for tests of the ledger's door: what a phone would send, and when."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from heaps.models import Bay, DayTotal, Site
from heaps.sync import Receipt, Sending, accept
from members.models import Member

NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)


def load(into: Bay, uid: str | None = None, minutes: int = 0, count: int = 4, **changed: Any) -> dict[str, Any]:
    return {
        "wire": 1,
        "uid": uid or str(uuid.uuid4()),
        "kind": "dropoff",
        "site": str(into.site.uid),
        "bay": str(into.uid),
        "occurred_at": (NOON + timedelta(minutes=minutes)).isoformat(),
        "by_hand": False,
        "details": {"feedstock": "grass-fresh", "half_containers": count, "container_ml": 40_000},
        "words": "",
    } | changed


def correction(site: Site, corrects: str, says: str = "withdraw", **said: Any) -> dict[str, Any]:
    return {
        "wire": 1,
        "uid": str(uuid.uuid4()),
        "kind": "correction",
        "site": str(site.uid),
        "bay": None,
        "occurred_at": (NOON + timedelta(hours=1)).isoformat(),
        "by_hand": False,
        "details": {"corrects": corrects, "says": says} | said,
    }


def send(raws: list[Any], person: Member, later: timedelta = timedelta(hours=2)) -> list[Receipt]:
    now = NOON + later
    return accept(raws, Sending(person=person, device=uuid.UUID(int=person.pk), sent_at=now, received_at=now))


def states(receipts: list[Receipt]) -> list[str]:
    return [receipt.state for receipt in receipts]


def wet_g() -> int:
    return sum(DayTotal.objects.filter(what="came in").values_list("wet_g", flat=True))
