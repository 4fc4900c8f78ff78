"""One year for a funder: what came in, what went out, hours and people, to the gram, from the stored totals."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import Count, Q, Sum

from heaps.ledger import Amount
from heaps.models import Attendance, DayTotal, Headcount, Site, known_materials
from heaps.years import Year

#: The order in which a report tells things.
WHAT = (
    "came in", "returned", "refused", "harvested", "collected", "mulched", "hours", "gatherings", "incidents", "people",
)  # fmt: skip
HEADER = (
    "year", "month", "site", "what", "material", "basis", "entries", "wet_kg", "litres", "bags", "hours", "people",
    "m2",
)  # fmt: skip
ALL_SITES = "all sites"
#: What a spreadsheet takes for a formula: one of these signs, also in full or small width, where a cell begins. Spaces
#: and signs that are not seen may stand before it; a sheet that is opened with semicolons or tabs begins cells there,
#: too (OWASP, CSV Injection).
FORMULA = re.compile(r"(^|[,;|\t\r\n\v\f])([\s\x00-\x1f\x7f-\xa0\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff]*)"
                     r"(?=[=+\-@\uff1d\uff0b\uff0d\uff20\u2212\ufe62\ufe63\ufe66\ufe6b])")  # fmt: skip
FIRST_SIGNS = ("\t", "\r", "\n")  # some programs leave these away, and look at what follows


@dataclass(frozen=True)
class Row:
    """One line of the report. `month` is the month's first day, or None for the whole year (people only)."""

    month: date | None
    site: str
    what: str
    detail: str
    basis: str
    amount: Amount
    people: int | None = None
    material: str = ""  # its name; of a harvest, whether it was sieved


@dataclass(frozen=True)
class InShort:
    """A year in one sentence, over all sites. Half bags and minutes are as they are stored."""

    in_g: int
    weighed_g: int
    made_half_bags: int
    fetched_half_bags: int
    minutes: int
    people: int


def rows(year: Year) -> list[Row]:
    """The year by month and site. Sums of stored totals and nothing else: an opening is not in them."""
    names = dict(Site.objects.values_list("pk", "name"))
    return sorted([*_amounts(year, names), *_people(year, names)], key=_place)


def sums(found: Iterable[Row]) -> list[Row]:
    """The year's sums: the months added up, people left out because they do not add up."""
    total: dict[tuple[str, str, str, str], Row] = {}
    for row in found:
        if row.what != "people":
            key = (row.site, row.what, row.detail, row.basis)
            before = total[key].amount if key in total else Amount()
            total[key] = replace(row, month=None, amount=before + row.amount)
    return sorted(total.values(), key=_place)


def totals(found: Iterable[Row]) -> list[Row]:
    """The year's sums over all materials and all sites; weighed and estimated stay apart."""
    return sums(replace(row, site="", detail="", material="") for row in found)


def in_short(found: Iterable[Row]) -> InShort:
    """The year's few figures that a funder asks for first, out of its rows."""
    found = list(found)
    amounts = {(row.what, row.basis): row.amount for row in totals(found)}
    weighed, estimated = (amounts.get(("came in", basis), Amount()).wet_g for basis in ("weighed", "estimated"))
    whole = {row.site: row.people or 0 for row in found if row.what == "people" and row.month is None}
    return InShort(
        in_g=weighed + estimated,
        weighed_g=weighed,
        made_half_bags=_of(amounts, "harvested").half_bags,
        fetched_half_bags=_of(amounts, "collected").half_bags,
        minutes=_of(amounts, "hours").minutes,
        people=whole.get(ALL_SITES, sum(whole.values())),
    )


def lines(year: Year) -> Iterator[tuple[str, ...]]:
    """The year as cells of text, the header first. Nothing is rounded but hours, to the hundredth."""
    yield HEADER
    for row in rows(year):
        amount = row.amount
        matter = row.what in ("came in", "returned")
        bags = row.what in ("harvested", "collected")
        yield (
            guarded(year.label),
            f"{row.month:%Y-%m}" if row.month else "",
            guarded(row.site),
            row.what,
            guarded(row.material),
            guarded(row.basis),
            str(amount.entries) if row.people is None else "",
            thousandths(amount.wet_g) if matter else "",
            thousandths(amount.volume_ml) if matter or bags or row.what == "refused" else "",
            halves(amount.half_bags) if bags else "",
            hundredths_of_hours(amount.minutes) if row.what == "hours" else "",
            str(amount.people) if row.what == "gatherings" else "" if row.people is None else str(row.people),
            tenths(amount.tenths_m2) if row.what == "mulched" else "",
        )


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula: an apostrophe goes before what looks like one."""
    safe = FORMULA.sub(r"\1\2'", text)
    return f"'{safe}" if safe.startswith(FIRST_SIGNS) else safe


def thousandths(number: int) -> str:
    """Grams as kilograms, millilitres as litres: exact, with three places."""
    whole, rest = divmod(abs(number), 1000)
    return f"{'-' if number < 0 else ''}{whole}.{rest:03d}"


def halves(number: int) -> str:
    """Half bags as bags, exact."""
    whole, rest = divmod(abs(number), 2)
    return f"{'-' if number < 0 else ''}{whole}{'.5' if rest else ''}"


def tenths(number: int) -> str:
    """Tenths of a square metre as square metres, exact."""
    whole, rest = divmod(abs(number), 10)
    return f"{'-' if number < 0 else ''}{whole}.{rest}"


def hundredths_of_hours(minutes: int) -> str:
    """Minutes as hours with two places, halves away from zero."""
    whole, rest = divmod((abs(minutes) * 100 + 30) // 60, 100)
    return f"{'-' if minutes < 0 else ''}{whole}.{rest:02d}"


def _of(amounts: dict[tuple[str, str], Amount], what: str) -> Amount:
    return sum((amount for (one, _basis), amount in amounts.items() if one == what), Amount())


def _amounts(year: Year, names: dict[int, str]) -> Iterator[Row]:
    """The stored totals by month."""
    found: dict[tuple[date, int, str, str, str], Amount] = {}
    materials = known_materials()
    totals = DayTotal.objects.filter(day__gte=year.starts, day__lt=year.ends).order_by()
    daily = totals.values_list("day", "site_id", "what", "detail", "basis").annotate(*map(Sum, Amount._fields))
    for day, site_id, what, detail, basis, *amounts in daily.iterator(chunk_size=2_000):
        key = (day.replace(day=1), site_id, what, detail, basis)
        found[key] = found.get(key, Amount()) + Amount(*amounts)
    for (month, site_id, what, detail, basis), amount in found.items():
        yield Row(
            month,
            names[site_id],
            what,
            detail,
            basis,
            amount,
            material=materials[detail].name if detail in materials else detail,
        )


def _people(year: Year, names: dict[int, str]) -> Iterator[Row]:
    """How many people recorded something: in each month and in the year, each counted once.

    Those whose names are still kept are counted here; how many the others were was stored when their names went.
    """
    found: dict[tuple[date | None, int | None], int] = defaultdict(int)
    here = Attendance.objects.filter(month__gte=year.starts, month__lt=year.ends, entries__gt=0).order_by()
    for month, site_id, people in here.values_list("month", "site_id").annotate(Count("person", distinct=True)):
        found[month, site_id] += people
    for site_id, people in here.values_list("site_id").annotate(Count("person", distinct=True)):
        found[None, site_id] += people
    found[None, None] += here.aggregate(people=Count("person", distinct=True))["people"]
    whole = Q(months=12, starts=year.starts)
    nameless = Headcount.objects.filter(whole | Q(months=1, starts__gte=year.starts, starts__lt=year.ends))
    for starts, months, site_id, people in nameless.values_list("starts", "months", "site_id", "people"):
        found[starts if months == 1 else None, site_id] += people
    for (one, site_id), people in found.items():
        if people and (site_id is not None or len(names) > 1):
            yield Row(one, ALL_SITES if site_id is None else names[site_id], "people", "", "", Amount(), people)


def _place(row: Row) -> tuple[date, str, int, str, str]:
    return (row.month or date.max, row.site, WHAT.index(row.what), row.material, row.basis)
