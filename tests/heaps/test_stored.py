"""What stands in the database of an entry that came through the door."""

import uuid
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection

from heaps.models import Bay, Entry
from members.models import Member
from tests.sendings import NOON, load, send, states

pytestmark = [pytest.mark.ledger, pytest.mark.django_db]


@pytest.mark.parametrize("at", ["2026-05-01T11:00:00+02:00", "2026-05-01T09:00:00.120Z", "1903-05-01T09:00:00Z"])
@pytest.mark.parametrize("by_hand", [True, False])
def test_what_is_stored_is_what_an_entry_says(bay: Bay, member: Member, at: str, by_hand: bool) -> None:
    """And as Django itself would have it in the database, which compares moments as they stand there."""
    raw = load(
        bay, kind="reading", details={"temp_tenths_c": 455, "probe": "\u00e9tuve"}, occurred_at=at, by_hand=by_hand
    )
    assert states(send([raw, load(bay, minutes=9)], member)) == ["accepted", "accepted"]
    stored, entry = _as_it_stands(raw["uid"]), Entry.objects.get(uid=raw["uid"])
    assert (entry.details, entry.occurred_at) == (raw["details"], datetime.fromisoformat(at))
    assert entry.received_at == NOON + timedelta(hours=2)
    entry.save()
    assert _as_it_stands(raw["uid"]) == stored


def _as_it_stands(uid: str) -> list[Any]:
    columns = "occurred_at, effective_at, received_at, corrects, fingerprint, chain, person_id, device, words"
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT {columns} FROM heaps_entry WHERE uid = %s",
            [uid if connection.features.has_native_uuid_field else uuid.UUID(uid).hex],
        )
        return list(cursor.fetchone())
