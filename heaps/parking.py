"""Entries laid aside for a coordinator: what stands on such a row, and how many one person's phones may hand in."""

import json
from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext_noop

from heaps.models import Parked, many
from members.models import Member

#: Stored so; it is translated where it is shown.
HANDED_IN = gettext_noop("Handed in by a phone that is no longer signed in.")
FROM_FILE = gettext_noop("From a file that no phone has sealed: nobody knows who wrote it.")
MOST_A_DAY = 500  # handed in for one person, or for all whose names are gone: some weeks of a busy phone
#: What a parked entry needs to be placed: what the ledger would keep of it, and no words.
PLACEABLE = ("wire", "uid", "kind", "site", "bay", "occurred_at", "by_hand", "details", "donor")


class TooMany(Exception):
    """More has been handed in within a day than a coordinator can look at. The rest waits on its phone."""


def where_they_are(uids: Collection[str]) -> dict[str, str]:
    """What has become of parked entries, by uid: waiting, placed or left out; or copy, copied, where none is sealed."""
    rows = many.find(Parked, ("uid", "reason", "placed_at", "left_out_at"), uid=uids)
    return {str(uid): _state(reason == FROM_FILE, *when) for uid, reason, *when in rows}


def _state(is_copy: bool, placed_at: datetime | None, left_out_at: datetime | None) -> str:
    if placed_at:
        return "copied" if is_copy else "placed"
    return "copy" if is_copy else "left out" if left_out_at else "waiting"


def make_way(held: dict[str, str]) -> None:
    """A copy that nobody stands behind goes when the entry itself comes.

    Else whoever changed a file on its way could have the phone told that all is well.
    """
    copies = [uid for uid, state in held.items() if state == "copy"]
    if copies:
        Parked.objects.filter(uid__in=copies, placed_at=None).delete()
    for uid in copies:
        del held[uid]


def keep(rows: list[Parked], now: datetime) -> None:
    """Store fresh rows. Raises TooMany."""
    handed_in = [row for row in rows if row.reason in (HANDED_IN, FROM_FILE)]
    if handed_in:
        person, since = handed_in[0].person, now - timedelta(days=1)
        reasons = (HANDED_IN, FROM_FILE)
        today = Parked.objects.filter(reason__in=reasons, person=person, received_at__gt=since).count()
        if today + len(handed_in) > MOST_A_DAY:
            raise TooMany
    Parked.objects.bulk_create(rows)


def as_kept(raw: Any, person: Member | None, handed_in: bool) -> str:
    """What the ledger would keep of an entry, as JSON, and its words.

    What nobody's phone hands in has no words: they may name somebody who has left.
    """
    words = {} if handed_in and person is None else {"words": raw["words"]} if "words" in raw else {}
    return json.dumps(nameless(raw) | words)


def nameless(said: Mapping[str, Any]) -> dict[str, Any]:
    """An entry without words, and without anything that the ledger would not keep."""
    return {key: said[key] for key in PLACEABLE if key in said}
