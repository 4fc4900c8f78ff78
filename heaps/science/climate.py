"""The air and the rain of a usual year: a published one of the lowland United Kingdom, or a site's own."""

import csv
from calendar import monthrange
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

MONTHS = 12
#: What would evaporate, mm a day for each degree of the air (tuned to the moisture of finished heaps: a bay stands out
#: of sun and wind; grass gives about 0.16, 500 to 650 mm a year, from memory, medium).
EVAPORATES_MM_C = 0.10
#: A month's mean air in Celsius and the rain of all of it in mm.
Month = tuple[float, float]
#: What can be at all: whatever is outside was typed wrongly, or in other units (common practice).
COLDEST_C, WARMEST_C, MOST_RAIN_MM = -40.0, 45.0, 2_000.0


@dataclass(frozen=True)
class Climate:
    """A usual year at a place: mean air in Celsius and rain in mm a day of each month; `source` says whose."""

    air_c: tuple[float, ...]
    rain_mm: tuple[float, ...]
    source: str

    @classmethod
    def of_months(cls, months: Sequence[Month], source: str) -> "Climate":
        """From January on, the rain as that of whole months."""
        days = [monthrange(2001, month)[1] for month in range(1, MONTHS + 1)]
        rain_mm = tuple(rain / long for (_, rain), long in zip(months, days, strict=True))
        return cls(tuple(air for air, _ in months), rain_mm, source)

    def on(self, day: date) -> tuple[float, float]:
        """Air and rain of a day, between the middles of the months. A single day may be 10 C off."""
        first, share = _between(day)
        later = (first + 1) % MONTHS
        return (
            self.air_c[first] * (1 - share) + self.air_c[later] * share,
            self.rain_mm[first] * (1 - share) + self.rain_mm[later] * share,
        )


#: Where nobody has given another: the means of 2001 to 2020 of one station in the English Midlands, 10.5 C and 642 mm
#: over the year, reckoned from its monthly means of highest and lowest air and its monthly rain (MO-SB, read).
UK_SOURCE = "MO-SB"
UK_MONTHS: tuple[Month, ...] = (
    (4.9, 47), (5.0, 44), (6.6, 40), (9.3, 41), (12.1, 52), (15.2, 67),
    (17.2, 70), (17.1, 63), (14.6, 43), (11.4, 62), (7.6, 55), (5.2, 57),
)  # fmt: skip
UK_LOWLAND = Climate.of_months(UK_MONTHS, UK_SOURCE)


def air_temp_c(day: date) -> float:
    """The usual mean temperature of the air on `day` in the lowland United Kingdom, in degrees Celsius."""
    return UK_LOWLAND.on(day)[0]


def evaporation_mm(air_c: float) -> float:
    """What would evaporate from wet ground in a day; nothing in frost."""
    return max(0.0, EVAPORATES_MM_C * air_c)


class Why(StrEnum):
    """Why a table of months cannot be read."""

    HEAD = "the first line does not name the columns"
    CELLS = "not three cells"
    MONTH = "no month from 1 to 12"
    TWICE = "that month stands there twice"
    AIR = "no air temperature that can be"
    RAIN = "no rain that can be"
    MISSING = "a month is missing"


@dataclass(frozen=True)
class Fault:
    """What is wrong in one line of a table, or with a month that is in none."""

    why: Why
    line: int = 1
    month: int = 0


class Faulty(ValueError):
    """A table of months that cannot be taken, with all that is wrong in it."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__(", ".join(f"line {one.line}: {one.why}" for one in faults))
        self.faults = tuple(faults)


HEADER = ("month", "air_c", "rain_mm")


def months_from_csv(text: str) -> tuple[Month, ...]:
    """The months of a plain table, from January on: a line `month,air_c,rain_mm` and one for each month, the rain that
    of the whole month. Where a semicolon or a tab parts the cells, numbers may have a comma. Raises Faulty."""
    lines = [(number, line) for number, line in enumerate(text.lstrip("\ufeff").splitlines(), 1) if line.strip()]
    parts = next((sign for sign in ";\t" if lines and sign in lines[0][1]), ",")
    rows = [(number, next(csv.reader([line], delimiter=parts))) for number, line in lines]
    if not rows or tuple(cell.strip().lower() for cell in rows[0][1]) != HEADER:
        raise Faulty([Fault(Why.HEAD)])
    found: dict[int, Month] = {}
    faults = [fault for number, row in rows[1:] for fault in _read(number, row, found, parts != ",")]
    named = {fault.month for fault in faults}
    faults += [
        Fault(Why.MISSING, month=month) for month in range(1, MONTHS + 1) if month not in found and month not in named
    ]
    if faults:
        raise Faulty(faults)
    return tuple(found[month] for month in sorted(found))


def _read(line: int, row: Sequence[str], found: dict[int, Month], commas: bool) -> Iterator[Fault]:
    """Puts a line's month into `found`, or says what is wrong with it."""
    if len(row) != len(HEADER):
        yield Fault(Why.CELLS, line)
        return
    number, air_c, rain_mm = (_number(cell, commas) for cell in row)
    month = int(number) if number is not None and number in range(1, MONTHS + 1) else 0
    if not month:
        yield Fault(Why.MONTH, line)
    elif month in found:
        yield Fault(Why.TWICE, line, month)
    if air_c is None or not COLDEST_C <= air_c <= WARMEST_C:
        yield Fault(Why.AIR, line, month)
    elif rain_mm is None or not 0 <= rain_mm <= MOST_RAIN_MM:
        yield Fault(Why.RAIN, line, month)
    elif month:
        found.setdefault(month, (air_c, rain_mm))


def _number(cell: str, commas: bool) -> float | None:
    try:
        return float(cell.replace(",", ".") if commas else cell)
    except ValueError:
        return None


def _between(day: date) -> tuple[int, float]:
    """The month (from 0) whose middle came last, and the way to the next middle."""
    middle = date(day.year, day.month, 15)
    if day >= middle:
        begins, month = middle, day.month - 1
        ends = date(day.year + day.month // MONTHS, day.month % MONTHS + 1, 15)
    else:
        ends, month = middle, (day.month - 2) % MONTHS
        begins = date(day.year - (day.month == 1), month + 1, 15)
    return month, (day - begins).days / (ends - begins).days
