"""Totals a day, uses and attendance: sums that changes are added to and taken from."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from heaps import ledger
from heaps.history.rows import Change
from heaps.ledger.kinds import Dropoff
from heaps.models import Attendance, Bay, Container, DayTotal, Entry, Fresh, Site, Use, many
from heaps.science.materials import Materials

DayKey = tuple[int, int | None, date, str, str, str]  # site, bay, day, what, detail, basis
DAY_KEY = ("site_id", "bay_id", "day", "what", "detail", "basis")
AMOUNTS = ledger.Amount._fields
Numbers = tuple[int, ...]  # those of an amount
UseKey = tuple[int, str, int | None]  # site, feedstock, container
MonthKey = tuple[int, date, int]  # site, month, person
MONTH_KEY = ("site_id", "month", "person_id")


def add(changes: Sequence[Change], materials: Materials, before: Materials | None = None) -> None:
    """Add what the changes bring, and take away what stood there before, as it weighed by the materials `before`."""
    days, uses, months = _sums(changes, materials, before or materials)
    _add(DayTotal, DAY_KEY, AMOUNTS, days)
    _add(Use, ("site_id", "feedstock", "container_id"), ["loads"], {key: (count,) for key, count in uses.items()})
    _add(Attendance, MONTH_KEY, ["entries"], {key: (count,) for key, count in months.items()})


def let_go(changes: Sequence[Change], materials: Materials) -> None:
    """Take out of attendance what these entries say of whoever recorded them."""
    _days, _uses, months = _sums(changes, materials, materials)
    _add(Attendance, MONTH_KEY, ["entries"], {key: (-count,) for key, count in months.items()})


def drift(site: Site, parts: Iterable[Sequence[Change]], materials: Materials) -> list[str]:
    """Where a site's stored sums differ from those of `parts`, which together must be all its standing entries."""
    days: dict[DayKey, list[Numbers]] = defaultdict(list)
    uses: Counter[UseKey] = Counter()
    months: Counter[MonthKey] = Counter()
    for changes in parts:
        more_days, more_uses, more_months = _sums(changes, materials, materials)
        for key, numbers in more_days.items():
            days[key].append(numbers)
        uses.update(more_uses)
        months.update(more_months)
    rows = DayTotal.objects.filter(site=site).values_list(*DAY_KEY, *AMOUNTS)
    stored_days = {row[: len(DAY_KEY)]: ledger.Amount(*row[len(DAY_KEY) :]) for row in rows}
    stored_uses = {(site.pk, row.feedstock, row.container_id): row.loads for row in Use.objects.filter(site=site)}
    stored_months = {(site.pk, row.month, row.person_id): row.entries for row in Attendance.objects.filter(site=site)}
    pairs: list[tuple[str, dict[Any, Any], dict[Any, Any]]] = [
        ("day total", stored_days, {key: ledger.Amount(*numbers) for key, numbers in _summed(days).items()}),
        ("use", stored_uses, uses),
        ("attendance", stored_months, months),
    ]
    return [
        f"{site}: {name} {key} is stored as {stored.get(key)} but sums to {summed.get(key)}"
        for name, stored, summed in pairs
        for key in sorted(stored.keys() | summed.keys(), key=str)
        if stored.get(key) != summed.get(key)
    ]


def forget(site: Site) -> None:
    """Take out a site's uses and attendance, to make them anew."""
    Use.objects.filter(site=site).delete()
    Attendance.objects.filter(site=site).delete()


def _sums(
    changes: Sequence[Change], after: Materials, before: Materials
) -> tuple[dict[DayKey, Numbers], dict[UseKey, int], dict[MonthKey, int]]:
    sites = _sites(changes)
    bay_ids = _bay_numbers(changes)
    containers = many.find(Container, ("site_id", "uid", "id"), site_id=sites)
    container_ids = {(site_id, str(uid)): pk for site_id, uid, pk in containers}
    days: dict[DayKey, list[Numbers]] = defaultdict(list)
    loads: dict[tuple[int, str, str], int] = defaultdict(int)
    there: dict[tuple[int, date, int | None], int] = defaultdict(int)
    for row, entry, sign in _signed(changes):
        site_id, what = row.site_id, entry.what
        day = sites[site_id].day_of(entry.at)
        if counted := ledger.amount_of(entry, after if sign > 0 else before):
            heading, amount = counted
            days[(site_id, bay_ids.get(entry.bay or ""), day, *heading)].append(amount if sign > 0 else -amount)
        if isinstance(what, Dropoff):
            loads[(site_id, what.feedstock, what.container or "")] += sign
        there[(site_id, day, row.person_id)] += sign
    uses: dict[UseKey, int] = defaultdict(int)
    for (site_id, feedstock, container), count in loads.items():
        uses[(site_id, feedstock, container_ids.get((site_id, container)))] += count
    months: dict[MonthKey, int] = defaultdict(int)
    for (site_id, day, person_id), count in there.items():
        if person_id:
            months[(site_id, day.replace(day=1), person_id)] += count
    return (
        _summed(days),
        {key: count for key, count in uses.items() if count},
        {key: count for key, count in months.items() if count},
    )


def _summed(days: Mapping[DayKey, Sequence[Numbers]]) -> dict[DayKey, Numbers]:
    """What several amounts come to, number by number; what comes to nothing is left out."""
    sums = ((key, tuple(map(sum, zip(*amounts, strict=True)))) for key, amounts in days.items())
    return {key: numbers for key, numbers in sums if any(numbers)}


def _sites(changes: Sequence[Change]) -> dict[int, Site]:
    """The sites of some changes. Fresh rows have theirs with them."""
    sites = {row.site_id: row.site for row in (change.row for change in changes) if isinstance(row, Fresh)}
    if missing := {change.row.site_id for change in changes} - sites.keys():
        sites |= Site.objects.in_bulk(missing)
    return sites


def _bay_numbers(changes: Sequence[Change]) -> dict[str, int]:
    """The bays of some changes. Most have come with their rows."""
    here = {change.row.bay_id: change.row.bay for change in changes}
    numbers = {str(bay.uid): bay.pk for bay in here.values() if bay}
    if missing := {side.bay for _row, *sides in changes for side in sides if side and side.bay} - numbers.keys():
        numbers |= {str(uid): pk for uid, pk in Bay.objects.filter(uid__in=missing).values_list("uid", "pk")}
    return numbers


def _signed(changes: Iterable[Change]) -> Iterable[tuple[Entry | Fresh, ledger.Entry, int]]:
    for row, before, after in changes:
        if before:
            yield row, before, -1
        if after:
            yield row, after, 1


def _add(model: Any, key: Sequence[str], counts: Sequence[str], sums: Mapping[Any, Sequence[int]]) -> None:
    """Add to what the rows with these keys count. What is not there yet begins, what comes to nothing is taken out."""
    if many.add(model, key, counts, sums.items()) < len(sums):
        known = set(many.find(model, key, **_around(key, sums)))
        many.insert(model, (*key, *counts), ((*at, *more) for at, more in sums.items() if at not in known))
    if any(min(more) < 0 for more in sums.values()):
        around = {f"{name}__in": values for name, values in _around(key, sums).items()}
        model.objects.filter(**around, **dict.fromkeys(counts, 0)).delete()


def _around(key: Sequence[str], sums: Iterable[Any]) -> dict[str, Any]:
    """What these keys have in each column. A row may have a part of one and a part of another."""
    parts = {name: set(values) for name, values in zip(key, zip(*sums, strict=True), strict=True)}
    return {name: values for name, values in parts.items() if None not in values}
