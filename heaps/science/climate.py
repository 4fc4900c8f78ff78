"""The air where no thermometer hangs: a usual year in the lowland United Kingdom."""

import csv
from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from math import cos, tau

#: A sine through the monthly means of lowland UK places, from memory (medium): 10.3 C over the year, about
#: 4 C at the end of January and 16.6 C at the end of July. Wrong elsewhere; a reading of the air is better.
MEAN_C = 10.3
AMPLITUDE_C = 6.3
WARMEST_DAY_OF_YEAR = 206  # 25 July
DAYS_IN_YEAR = 365.25


def air_temp_c(day: date) -> float:
    """The usual mean temperature of the air on `day`, in degrees Celsius. A single day may be 10 C off."""
    days_after_warmest = day.timetuple().tm_yday - WARMEST_DAY_OF_YEAR
    return MEAN_C + AMPLITUDE_C * cos(tau * days_after_warmest / DAYS_IN_YEAR)


MONTHS = 12
#: Rain and what would evaporate, mm a day: lowland UK, about 700 mm of rain a year (from memory, medium), and 0.10 mm
#: for each degree of the air (tuned to the moisture of finished heaps: a bay stands out of sun and wind; grass gives
#: about 0.16, 500 to 650 mm a year, from memory, medium).
RAIN_MM, EVAPORATES_MM_C = 1.9, 0.10


@dataclass(frozen=True)
class Climate:
    """A usual year at a place: mean air in Celsius and rain in mm a day of each month; `source` says whose."""

    air_c: tuple[float, ...]
    rain_mm: tuple[float, ...]
    source: str

    def on(self, day: date) -> tuple[float, float]:
        """Air and rain of a day, between the middles of the months."""
        first, share = _between(day)
        later = (first + 1) % MONTHS
        return (
            self.air_c[first] * (1 - share) + self.air_c[later] * share,
            self.rain_mm[first] * (1 - share) + self.rain_mm[later] * share,
        )


#: Where nobody has given another. Every month is the middle of the sine above.
UK_LOWLAND = Climate(
    tuple(air_temp_c(date(2001, month, 15)) for month in range(1, MONTHS + 1)),
    (RAIN_MM,) * MONTHS,
    "a usual year of lowland UK places, from memory (medium)",
)


def evaporation_mm(air_c: float) -> float:
    """What would evaporate from wet ground in a day; nothing in frost."""
    return max(0.0, EVAPORATES_MM_C * air_c)


def climate_from_csv(text: str, source: str) -> Climate:
    """A climate of a plain table: a line `month,air_c,rain_mm` and twelve more, the rain of the whole month.

    Raises ValueError with a plain sentence that says which line to mend.
    """
    rows = list(csv.reader(line for line in text.lstrip("\ufeff").splitlines() if line.strip()))
    if not rows or [cell.strip().lower() for cell in rows[0]] != ["month", "air_c", "rain_mm"]:
        raise ValueError("The first line must be: month,air_c,rain_mm")
    months: dict[int, tuple[float, float]] = {}
    for number, row in enumerate(rows[1:], start=2):
        month, air_c, rain_mm = _month(row, number)
        if month in months:
            raise ValueError(f"Line {number}: month {month} stands there twice.")
        months[month] = (air_c, rain_mm / monthrange(2001, month)[1])
    if len(months) != MONTHS:
        missing = next(month for month in range(1, MONTHS + 1) if month not in months)
        raise ValueError(f"Month {missing} is missing.")
    ordered = [months[month] for month in sorted(months)]
    return Climate(tuple(air for air, _ in ordered), tuple(rain for _, rain in ordered), source)


def _month(row: list[str], number: int) -> tuple[int, float, float]:
    try:
        month, air_c, rain_mm = int(row[0]), float(row[1]), float(row[2])
    except (ValueError, IndexError):
        raise ValueError(f"Line {number}: write a month from 1 to 12 and two numbers.") from None
    if not (1 <= month <= MONTHS and -40 <= air_c <= 45 and 0 <= rain_mm <= 2_000):
        raise ValueError(f"Line {number}: a month from 1 to 12, -40 to 45 C, 0 to 2000 mm.")
    return month, air_c, rain_mm


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
