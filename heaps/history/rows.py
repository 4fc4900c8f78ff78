"""Rows of the ledger as entries, and what freshly stored rows change."""

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Exists, OuterRef, Q, QuerySet

from heaps import ledger
from heaps.ledger.kinds import Correction
from heaps.models import Entry
from heaps.wire import OLDEST, read_details


@dataclass(frozen=True)
class Change:
    """What an original row said until now, and what it says from now on; None is nothing."""

    row: Entry
    before: ledger.Entry | None
    after: ledger.Entry | None

    @property
    def sides(self) -> list[ledger.Entry]:
        """What there is of before and after."""
        return [side for side in (self.before, self.after) if side]


def entry_of(row: Entry) -> ledger.Entry:
    """The entry that a row holds. `row.bay` must have been fetched."""
    what, _ = read_details(row.kind, row.details)
    if isinstance(what, Correction) and what.at:
        what = replace(what, at=max(OLDEST, min(what.at, row.received_at)))
    return ledger.Entry(uid=str(row.uid), bay=str(row.bay.uid) if row.bay else None, at=row.effective_at, what=what)


def site_rows(site_id: int) -> QuerySet[Entry]:
    """All rows of a site."""
    return Entry.objects.filter(site_id=site_id).select_related("bay")


def standing(site_id: int, since: datetime | None, which: Q) -> list[ledger.Entry]:
    """A site's entries of some kind or bays as corrected, in order, from `since` on.

    `which` chooses originals by where they were recorded. Those that a correction can have moved to `since` or
    later, or to another bay, are looked at too, so the answer may hold entries of other bays: whoever asks filters.
    """
    corrections = Entry.objects.filter(site_id=site_id, corrects__isnull=False)
    changed = corrections.filter(details__says="instead")
    chosen = which | Q(uid__in=changed.values("corrects"))
    if since is not None:  # no correction moves an entry past the moment at which it arrived itself
        moved = Q(uid__in=changed.filter(received_at__gte=since).values("corrects"))
        chosen = (chosen & Q(effective_at__gte=since)) | moved
    originals = site_rows(site_id).filter(chosen, ~_withdrawn(corrections), corrects__isnull=True)
    answers = corrections.filter(corrects__in=originals.values("uid")).select_related("bay")
    entries = ledger.effective(entry_of(row) for row in [*originals, *answers])
    return [entry for entry in entries if since is None or entry.at >= since]


def _withdrawn(corrections: QuerySet[Entry]) -> Q:
    """Withdrawn and nothing put in its stead, whichever came last. A whole notebook may lie withdrawn in the ledger,
    and is not fetched to find that it says nothing."""
    answers = corrections.filter(corrects=OuterRef("uid"))
    return Q(Exists(answers.filter(details__says="withdraw")), ~Exists(answers.filter(details__says="instead")))


def changes_of(rows: Sequence[Entry]) -> list[Change]:
    """What `rows`, already stored, change: each original once, with all its corrections old and new."""
    new = {row.uid for row in rows}
    roots = {row.corrects or row.uid for row in rows}
    originals = {row.uid: row for row in rows if row.corrects is None}
    if missing := roots - originals.keys():
        found = Entry.objects.filter(uid__in=missing, corrects__isnull=True).select_related("bay")
        originals |= {row.uid: row for row in found}
    answers: dict[object, list[Entry]] = {}
    for answer in Entry.objects.filter(corrects__in=roots).select_related("bay"):
        answers.setdefault(answer.corrects, []).append(answer)
    changes = (_change(row, answers.get(row.uid, []), new) for row in originals.values())
    return [change for change in changes if change.before != change.after]


def _change(row: Entry, answers: Iterable[Entry], new: set[uuid.UUID]) -> Change:
    here = [answer for answer in answers if answer.site_id == row.site_id]
    old = [answer for answer in here if answer.uid not in new]
    return Change(
        row=row,
        before=None if row.uid in new else ledger.corrected_by(entry_of(row), map(entry_of, old)),
        after=ledger.corrected_by(entry_of(row), map(entry_of, here)),
    )
