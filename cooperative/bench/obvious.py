"""The obvious way to take what phones send, to compare the door with: for each entry a look and a row.

It checks nothing, keeps no totals, no heaps and no chain. What all entries share is looked up once, not for each.
"""

import json
import uuid
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import transaction
from django.http import HttpRequest, JsonResponse
from django.urls import include, path
from django.utils import timezone

from heaps.models import Bay, Entry, Site
from members.access import role_required, signed_in
from members.models import Member


@role_required("member")
def one_by_one(request: HttpRequest) -> JsonResponse:
    """Each row by itself."""
    receipts = []
    for row in rows(json.loads(request.body)["entries"], signed_in(request)):
        said = {field.name: getattr(row, field.name) for field in Entry._meta.concrete_fields if not field.primary_key}
        uid = said.pop("uid")
        _entry, is_new = Entry.objects.get_or_create(uid=uid, defaults=said)
        receipts.append({"uid": str(uid), "state": "accepted" if is_new else "known"})
    return JsonResponse({"receipts": receipts})


def rows(entries: Sequence[dict[str, Any]], person: Member | None) -> list[Entry]:
    """Entries of one site as rows, unchecked."""
    now = timezone.now()
    site = Site.objects.get(uid=entries[0]["site"])
    bays = {str(bay.uid): bay for bay in Bay.objects.filter(site=site)}
    return [
        Entry(
            uid=uuid.UUID(raw["uid"]),
            kind=raw["kind"],
            site=site,
            bay=bays.get(raw["bay"]),
            occurred_at=datetime.fromisoformat(raw["occurred_at"]),
            effective_at=datetime.fromisoformat(raw["occurred_at"]),
            received_at=now,
            details=raw["details"],
            fingerprint="0" * 64,
            chain="0" * 64,
            person=person,
            device=uuid.UUID(int=7),
            words=raw["words"],
        )
        for raw in entries
    ]


urlpatterns = [
    path("obvious/", one_by_one),
    path("obvious/at-once/", transaction.atomic(one_by_one)),
    path("", include("cooperative.urls")),
]
