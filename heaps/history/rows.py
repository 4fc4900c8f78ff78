"""Rows of the ledger as entries, and what freshly stored rows change."""

import uuid
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import islice
from typing import Any, NamedTuple

from django.db.models import Exists, OuterRef, Q, QuerySet

from heaps import ledger
from heaps.ledger.kinds import Correction
from heaps.models import Entry, Fresh
from heaps.wire import OLDEST, stored_details

AT_ONCE = 500
#: What neither states nor sums ask of a row: to read it takes a third of the time.
UNTOLD = ("occurred_at", "by_hand", "fingerprint", "chain", "device", "words")
#: What an entry is made of, by the columns that hold it.
ENTRY = ("uid", "bay__uid", "effective_at", "kind", "details")
Answers = dict[uuid.UUID | None, list[Entry]]  # corrections by the number of the entry that they correct


class Change(NamedTuple):
    """What an original row said until now, and what it says from now on; None is nothing."""

    row: Entry | Fresh
    before: ledger.Entry | None
    after: ledger.Entry | None

    @property
    def sides(self) -> list[ledger.Entry]:
        """What there is of before and after."""
        return [side for side in (self.before, self.after) if side]


def entry_of(row: Entry) -> ledger.Entry:
    """The entry that a row holds. `row.bay` must have been fetched."""
    bay = row.bay.uid if row.bay else None
    return _entry(row.uid, bay, row.effective_at, row.kind, row.details, row.received_at)


def _entries(rows: QuerySet[Entry], *more: str) -> list[ledger.Entry]:
    """The entries that many rows hold; of corrections their arrival must be asked for, too.

    Without an object for each row it takes a third of the time.
    """
    return [_entry(*row) for row in rows.values_list(*ENTRY, *more)]


def _entry(
    uid: uuid.UUID, bay: uuid.UUID | None, at: datetime, kind: str, details: Any, received_at: datetime | None = None
) -> ledger.Entry:
    what = stored_details(kind, details)
    if isinstance(what, Correction) and what.at and received_at:
        what = replace(what, at=max(OLDEST, min(what.at, received_at)))
    return ledger.Entry(uid=str(uid), bay=str(bay) if bay else None, at=at, what=what)


def site_rows(site_id: int) -> QuerySet[Entry]:
    """All rows of a site."""
    return Entry.objects.filter(site_id=site_id).select_related("bay")


def whole_site(site_id: int) -> list[Entry]:
    """All rows of a site, with what states and sums ask of them; its bays are fetched once for all."""
    return list(site_rows(site_id).select_related(None).prefetch_related("bay").defer(*UNTOLD))


def originals_of(site_id: int) -> Iterator[list[Entry]]:
    """A site's rows that are no corrections, in the order in which they came, some at a time."""
    last = 0
    while rows := list(site_rows(site_id).filter(corrects__isnull=True, pk__gt=last).order_by("pk")[:AT_ONCE]):
        yield rows
        last = rows[-1].pk


def standing(
    site_id: int, since: datetime | None, which: Q, mended: Mapping[uuid.UUID, datetime] | None = None
) -> list[ledger.Entry]:
    """A site's entries of some kind or bays as corrected, in order, from `since` on.

    `which` chooses originals by where they were recorded. Those that a correction can have moved to `since` or
    later, or to another bay, are looked at too, so the answer may hold entries of other bays: whoever asks filters.
    """
    mended = mended_at(site_id) if mended is None else mended
    here = Entry.objects.filter(site_id=site_id, corrects__isnull=True)
    spoken_of = Entry.objects.filter(corrects=OuterRef("uid"), site_id=site_id)
    chosen = which if since is None else which & Q(effective_at__gte=since)
    found = _entries(here.filter(chosen, ~Exists(spoken_of)))
    for uids in _some_at_once(mended):
        # no correction moves an entry past the moment at which it arrived itself
        moved = [uid for uid in uids if since is None or mended[uid] >= since]
        later = Q(uid__in=uids, effective_at__gte=since) if since else Q()
        originals = _entries(here.filter(Q(uid__in=moved) | later, uid__in=uids))
        answers = Entry.objects.filter(corrects__in=[entry.uid for entry in originals], site_id=site_id)
        found += [*originals, *_entries(answers, "received_at")]
    return [entry for entry in ledger.effective(found) if since is None or entry.at >= since]


def mended_at(site_id: int) -> dict[uuid.UUID, datetime]:
    """The originals at a site of which something else was said than that they are withdrawn, and when last.

    A whole notebook may lie withdrawn in the ledger, and is not fetched to find that it says nothing.
    """
    said = Entry.objects.filter(site_id=site_id, corrects__isnull=False).exclude(details__says="withdraw")
    return {uid: last for uid, last in said.order_by("received_at").values_list("corrects", "received_at") if uid}


def _some_at_once(uids: Iterable[uuid.UUID]) -> Iterator[list[uuid.UUID]]:
    """As many as a database takes in one question."""
    waiting = iter(uids)
    while some := list(islice(waiting, AT_ONCE)):
        yield some


def answers_to(uids: Collection[uuid.UUID]) -> Answers:
    """Every correction, old or new, of the entries with these numbers."""
    answers: Answers = {}
    for answer in Entry.objects.filter(corrects__in=uids).select_related("bay") if uids else ():
        answers.setdefault(answer.corrects, []).append(answer)
    return answers


def changes_of(rows: Sequence[Entry | Fresh], answers: Answers | None = None) -> list[Change]:
    """What `rows`, already stored, change: each original once, with all its corrections old and new."""
    if answers is None:
        answers = answers_to({row.corrects or row.uid for row in rows})
    new = {row.uid for row in rows}
    originals: dict[uuid.UUID | None, Entry | Fresh] = {row.uid: row for row in rows if row.corrects is None}
    if missing := {row.corrects for row in rows if row.corrects} - originals.keys():
        found = Entry.objects.filter(uid__in=missing, corrects__isnull=True).select_related("bay")
        originals |= {row.uid: row for row in found}
    changes = (_change(row, answers.get(row.uid, ()), new) for row in originals.values())
    return [change for change in changes if change.before != change.after]


def _change(row: Entry | Fresh, answers: Sequence[Entry], new: set[uuid.UUID]) -> Change:
    entry = row.told if isinstance(row, Fresh) else entry_of(row)
    if not answers:
        return Change(row, None if row.uid in new else entry, entry)
    here = [answer for answer in answers if answer.site_id == row.site_id]
    old = [answer for answer in here if answer.uid not in new]
    return Change(
        row=row,
        before=None if row.uid in new else ledger.corrected_by(entry, [entry_of(one) for one in old]),
        after=ledger.corrected_by(entry, [entry_of(one) for one in here]),
    )
