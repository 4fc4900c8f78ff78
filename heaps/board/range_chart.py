"""A range over time as a chart, with what was read: half a year back and half a year ahead."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from heaps.foretold import STEP_DAYS, Curve

WIDTH, HEIGHT = 300.0, 150.0
HALF_YEAR = timedelta(days=182)


@dataclass(frozen=True)
class Scale:
    """What is drawn at the bottom and at the top, and where lines with a number are."""

    least: float
    most: float
    lines: tuple[float, ...]


CELSIUS = Scale(-10, 80, (0, 20, 40, 60))
OF_THE_BAY = Scale(0, 1.25, (0.25, 0.50, 0.75, 1.0))


@dataclass(frozen=True)
class Read:
    """What was read on a day."""

    day: date
    value: float


@dataclass(frozen=True)
class Row:
    """One month of the table: the expected range in its middle, and what was read in it, from least to most."""

    month: date
    low: float
    high: float
    read: tuple[float, float] | None


@dataclass(frozen=True)
class RangeChart:
    """In units of the drawing, from its upper left corner: the band's edge, its middle, dots, lines, and today."""

    edge: str
    middle: str
    dots: tuple[tuple[float, float], ...]
    lines: tuple[tuple[float, float], ...]
    today: float
    first: date
    last: date
    rows: tuple[Row, ...]
    width: float = WIDTH
    height: float = HEIGHT


def range_chart(curve: Curve, reads: Iterable[Read], today: date, scale: Scale) -> RangeChart | None:
    """None where the curve does not come near today: nobody has made a forecast for long."""
    days = [curve.first + timedelta(days=STEP_DAYS * step) for step in range(len(curve.middle))]
    shown = [place for place, day in enumerate(days) if today - HALF_YEAR <= day <= today + HALF_YEAR]
    if len(shown) < 2:
        return None
    first, last = days[shown[0]], days[shown[-1]]
    span = (last - first).days

    def x(day: date) -> float:
        return min(WIDTH, WIDTH * (day - first).days / span)

    def y(value: float) -> float:
        part = (value - scale.least) / (scale.most - scale.least)
        return HEIGHT * (1 - min(1.0, max(0.0, part)))

    def path(values: Sequence[float], places: Iterable[int]) -> str:
        return " ".join(f"{x(days[place]):.1f},{y(values[place]):.1f}" for place in places)

    seen = [one for one in reads if first <= one.day <= last]
    return RangeChart(
        edge=f"{path(curve.low, shown)} {path(curve.high, reversed(shown))}",
        middle=path(curve.middle, shown),
        dots=tuple((x(one.day), y(one.value)) for one in seen),
        lines=tuple((line, y(line)) for line in scale.lines),
        today=x(today),
        first=first,
        last=last,
        rows=tuple(_rows(curve, seen, first, last)),
    )


def _rows(curve: Curve, reads: Sequence[Read], first: date, last: date) -> Iterable[Row]:
    month = first.replace(day=1)
    while month <= last:
        found = [one.value for one in reads if one.day.replace(day=1) == month]
        if there := curve.on(min(max(month.replace(day=15), first), last - timedelta(days=1))):
            yield Row(month, there.low, there.high, (min(found), max(found)) if found else None)
        month = (month + timedelta(days=32)).replace(day=1)
