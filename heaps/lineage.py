"""Where the matter of a heap has lain, and what was recorded of it there."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from heaps import history, ledger
from heaps.ledger.heap import Batch


@dataclass(frozen=True)
class Lay:
    """Where matter of this heap lay, from when to when (None: it lies there still), and what it came from."""

    uid: str
    bay: str
    began: datetime
    ended: datetime | None
    parents: tuple[str, ...]

    def holds(self, entry: ledger.Entry) -> bool:
        """Whether the entry fell into this bay in that time."""
        return entry.bay == self.bay and self.began <= entry.at and (self.ended is None or entry.at <= self.ended)


def entries_of(site_id: int, batch: Batch | None) -> list[ledger.Entry]:
    """The standing entries of a heap, here and in the heaps it came from, in the order in which things happened."""
    if batch is None:
        return []
    lays = lays_of(batch)
    since = min(lay.began for lay in lays)
    found = history.standing(site_id, since, Q(bay__uid__in={lay.bay for lay in lays}))
    return [entry for entry in found if any(lay.holds(entry) for lay in lays)]


def lays_of(batch: Batch) -> list[Lay]:
    """Every place and time where matter of this heap lay: here, and where each heap before it did."""
    here = Lay(batch.uid, batch.bay, batch.began, None, batch.parents)
    before = [Lay(uid, one.bay, one.began, one.ended, one.parents) for uid, one in batch.ancestors.items()]
    return [*before, here]


def alone_since(batch: Batch) -> datetime:
    """Since when all of it has been one heap: the last time that several met, or its own beginning."""
    lay = Lay(batch.uid, batch.bay, batch.began, None, batch.parents)
    while len(lay.parents) == 1:
        before = batch.ancestors[lay.parents[0]]
        lay = Lay(lay.parents[0], before.bay, before.began, before.ended, before.parents)
    return lay.began
