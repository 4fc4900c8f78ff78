"""A cooperative's own years: twelve months from the first of one."""

from dataclasses import dataclass
from datetime import date

from members.models import Cooperative

FIRST_YEAR, LAST_YEAR = 1990, 9998


@dataclass(frozen=True)
class Year:
    """A cooperative's own year: twelve months from the first of one."""

    starts: date

    @property
    def ends(self) -> date:
        """The first day that is no longer in it."""
        return self.starts.replace(year=self.starts.year + 1)

    @property
    def label(self) -> str:
        """2026, or 2026/27 when it does not begin in January."""
        year = self.starts.year
        return str(year) if self.starts.month == 1 else f"{year}/{(year + 1) % 100:02d}"


def year_of(year: int) -> Year | None:
    """The cooperative's year that begins in `year`; None for one no calendar has."""
    return Year(date(year, first_month(), 1)) if FIRST_YEAR <= year <= LAST_YEAR else None


def year_with(day: date) -> int:
    """In which year the cooperative's year with `day` in it begins."""
    return holding(day, first_month()).starts.year


def holding(day: date, starts_in_month: int) -> Year:
    """The year with `day` in it, where years begin in that month."""
    return Year(date(day.year if day.month >= starts_in_month else day.year - 1, starts_in_month, 1))


def first_month() -> int:
    """The month in which the cooperative's year begins."""
    return Cooperative.objects.values_list("year_starts_in_month", flat=True).first() or 1
