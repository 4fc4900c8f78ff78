"""Taking names off what was recorded: the amounts stay, and so does the number of people in every report."""

import json
from collections import Counter
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Q, QuerySet

from heaps import history
from heaps.doubts import NOTEBOOK
from heaps.models import Attendance, BeanTest, Entry, Headcount, ImportRun, Ledger, Parked
from heaps.parking import nameless
from members.models import Member

AT_ONCE = 1_000
Window = tuple[int | None, date, int]  # site or all sites, first month, how many months

#: What says who recorded an entry, or may say it. A notebook's mark says nobody.
NAMED = Q(person__isnull=False) | ~Q(words="") | (Q(device__isnull=False) & ~Q(device=NOTEBOOK))
SENT_BY_SOMEBODY = Q(person__isnull=False) | Q(device__isnull=False)


@dataclass(frozen=True)
class Named:
    """Entries, and those still to be placed, whose names are to go."""

    entries: QuerySet[Entry]
    parked: QuerySet[Parked]

    def count(self) -> int:
        """On how many of them something of a person still stands."""
        return self.entries.filter(NAMED).count() + self.parked.filter(SENT_BY_SOMEBODY).count()


@transaction.atomic
def forget(person: Member) -> None:
    """Take somebody off everything they recorded."""
    Ledger.objects.select_for_update().first()
    BeanTest.objects.filter(person=person).update(person=None, words="")
    ImportRun.objects.filter(person=person).update(person=None, file_name="")
    take_off(Named(Entry.objects.filter(person=person), Parked.objects.filter(person=person)))
    with _people_counted([person.pk]):
        Attendance.objects.filter(person=person).delete()


def take_off_bean_tests(before: date) -> None:
    """Take words and names off bean tests sown before a day."""
    BeanTest.objects.filter(sown_on__lt=before).update(person=None, words="")


def take_off_imports(before: datetime) -> None:
    """Take the names off files brought in before a moment: who did, and what the file was called."""
    ImportRun.objects.filter(made_at__lt=before).update(person=None, file_name="")


def take_off(named: Named) -> int:
    """Take person, phone and words off; how many entries that were. A large number goes in several transactions."""
    taken, last = 0, 0
    while rows := _take_off_some(named.entries.filter(NAMED, pk__gt=last)):
        taken, last = taken + len(rows), rows[-1].pk
    return taken + _take_off_parked(named.parked)


@transaction.atomic
def _take_off_some(entries: QuerySet[Entry]) -> list[Entry]:
    Ledger.objects.select_for_update().first()
    rows = list(entries.select_related("bay").order_by("pk")[:AT_ONCE])
    with _people_counted({row.person_id for row in rows if row.person_id}):
        history.let_go(rows)
        these = Entry.objects.filter(pk__in=[row.pk for row in rows])
        these.exclude(device=NOTEBOOK).update(device=None)
        these.update(person=None, words="")
    return rows


@transaction.atomic
def _take_off_parked(parked: QuerySet[Parked]) -> int:
    rows = list(parked.select_for_update().filter(SENT_BY_SOMEBODY))
    for row in rows:
        row.raw, row.person, row.device = json.dumps(nameless(json.loads(row.raw))), None, None
    Parked.objects.bulk_update(rows, ["raw", "person", "device"], batch_size=100)
    return len(rows)


@contextmanager
def _people_counted(people: Collection[int]) -> Iterator[None]:
    """Whoever drops out of a month or a year here is counted there as somebody without a name."""
    before = _present(people)
    yield
    _count(Counter(window for _person, window in before - _present(people)))


def _present(people: Collection[int]) -> set[tuple[int, Window]]:
    """In which months and years each of these people is counted by name."""
    there = Attendance.objects.filter(person__in=people, entries__gt=0)
    return {
        (person, window)
        for person, site, month in there.values_list("person_id", "site_id", "month")
        for window in _windows(site, month)
    }


def _windows(site: int, month: date) -> Iterator[Window]:
    """The month, and each twelve months that it is one of, at its site and over all sites."""
    yield (site, month, 1)
    for back in range(12):
        years, place = divmod(month.year * 12 + month.month - 1 - back, 12)
        for where in (site, None):
            yield (where, date(years, place + 1, 1), 12)


def _count(windows: Counter[Window]) -> None:
    fresh: list[Headcount] = []
    starts = {start for _site, start, _months in windows}
    rows = {(row.site_id, row.starts, row.months): row for row in Headcount.objects.filter(starts__in=starts)}
    for window, people in windows.items():
        site, start, months = window
        row = rows.get(window) or Headcount(site_id=site, starts=start, months=months)
        row.people += people
        if row.pk is None:
            fresh.append(row)
    Headcount.objects.bulk_create(fresh)
    Headcount.objects.bulk_update([row for key, row in rows.items() if key in windows], ["people"], batch_size=200)
