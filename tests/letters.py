"""What a phone posts to /sync/."""

import json
import uuid
from typing import Any

from django.test import Client

from heaps.models import Bay
from members.models import Member


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
