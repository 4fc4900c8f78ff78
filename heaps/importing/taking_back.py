"""Taking back what a file brought: each entry is withdrawn, the latest first, so that little is replayed twice.

Entries are never deleted. Withdrawn, they count nowhere, and a line of the file may come in again under a new number.
"""

from collections.abc import Sequence

from django.utils import timezone

from heaps import wire
from heaps.doubts import NOTEBOOK
from heaps.importing.intake import back_number
from heaps.models import Entry, ImportPart, ImportRun
from heaps.sync import Sending, accept
from members.models import Member


def still_in(run: ImportRun, most: int) -> list[Entry]:
    """The last entries that the run made and that are not taken back yet, the latest first."""
    found: list[Entry] = []
    for part in run.parts.order_by("-first"):
        rows = Entry.objects.filter(pk__range=(part.first, part.last)).select_related("site").order_by("-pk")
        found += rows[: most - len(found)]
        if len(found) >= most:
            break
    return found


def withdraw(run: ImportRun, entries: Sequence[Entry], person: Member) -> None:
    """Withdraw these through the door; what is still in of the run gets smaller by them."""
    now = timezone.now()
    raws = [
        {
            "wire": wire.WIRE,
            "uid": str(back_number(str(entry.uid))),
            "kind": "correction",
            "site": str(entry.site.uid),
            "bay": None,
            "occurred_at": now.isoformat(),
            "details": {"corrects": str(entry.uid), "says": "withdraw"},
        }
        for entry in entries
    ]
    receipts = accept(raws, Sending(person, NOTEBOOK, sent_at=now, received_at=now))
    if wrong := [receipt for receipt in receipts if receipt.state != "accepted"]:
        raise RuntimeError(f"An entry could not be taken back: {wrong[0].reason}")
    lowest = min(entry.pk for entry in entries)
    ImportPart.objects.filter(run=run, first__gte=lowest).delete()
    ImportPart.objects.filter(run=run, last__gte=lowest).update(last=lowest - 1)
    run.taken_back += len(entries)
