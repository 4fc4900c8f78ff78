"""What a copy lacks of the database whose place it takes: what phones bring again, and what no phone may hold."""

import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import Error
from django.db.models import Model

from heaps.doubts import NOTEBOOK
from heaps.models import Bay, Container, Donor, Entry, Ledger, OwnValue, Parked, Site
from members.models import Member

AT_ONCE = 500
JOURNAL = timedelta(days=35)  # static/heaps/outbox.js
COLUMNS = ("number", "came", "kind", "site", "bay", "happened_at", "arrived_at", "details")
BY_PHONE, TOO_OLD, BY_HAND = "by a phone", "by a phone, too long ago", "by a page or a file"
#: What pages set up, and phones hold nothing of.
SET_UP: tuple[type[Model], ...] = (Member, Site, Bay, Container, Donor, OwnValue)


@dataclass(frozen=True)
class Lost:
    """How many entries the copy lacks, by how they came, a list of them, and other rows that are fewer."""

    came: dict[str, int]
    table: str
    rows: dict[str, int]

    @property
    def entries(self) -> int:
        return sum(self.came.values())


def since(old: str, now: datetime) -> Lost | None:
    """What the old database holds that the one on which we stand does not; None where it is of another ledger."""
    head = Ledger.objects.first() or Ledger()
    try:
        if head.entries and _chain_at(old, head.entries) != head.chain:
            return None
        return _lost(old, head.entries, now)
    except Error:  # of a release whose tables we cannot read
        return None


def still_missing(table: str) -> list[str]:
    """The lines of a list of lost entries that are not in the ledger, nor laid aside, by now."""
    lines = list(csv.DictReader(io.StringIO(table)))
    here = set(_here([line["number"] for line in lines]))
    missing = [line for line in lines if line["number"] not in here]
    return [" ".join(line[column] for column in COLUMNS[:6]) for line in missing]


def _here(numbers: list[str]) -> Iterator[str]:
    for first in range(0, len(numbers), AT_ONCE):
        for model in (Entry, Parked):
            found = model._default_manager.filter(uid__in=numbers[first : first + AT_ONCE])
            yield from map(str, found.values_list("uid", flat=True))


def _lost(old: str, after: int, now: datetime) -> Lost:
    """What stands in the old ledger after its entry of that number: it only grew, so that is all."""
    rows = Entry.objects.using(old).order_by("pk").select_related("site", "bay").defer("words")
    came: Counter[str] = Counter()
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(COLUMNS)
    for row in rows[after:].iterator(chunk_size=2_000):
        how, bay = _came(row, now), row.bay.name if row.bay else ""
        came[how] += 1
        moments = (row.effective_at.isoformat(), row.received_at.isoformat())
        table.writerow([row.uid, how, row.kind, row.site.name, bay, *moments, row.details])
    return Lost(dict(came), text.getvalue(), _fewer(old))


def _came(row: Entry, now: datetime) -> str:
    if row.device is None or row.device == NOTEBOOK:
        return BY_HAND
    return BY_PHONE if row.received_at > now - JOURNAL else TOO_OLD


def _chain_at(old: str, number: int) -> str:
    """The chain of the old ledger at its entry of that number."""
    rows = Entry.objects.using(old).order_by("pk").values_list("chain", flat=True)
    return next(iter(rows[number - 1 : number]), "")


def _fewer(old: str) -> dict[str, int]:
    found = {}
    for model in SET_UP:
        field = "pk" if model is OwnValue else "uid"
        there = set(model._default_manager.using(old).values_list(field, flat=True))
        missing = there - set(model._default_manager.values_list(field, flat=True))
        if missing:
            found[str(model._meta.verbose_name_plural)] = len(missing)
    return found
