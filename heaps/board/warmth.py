"""A heap's temperatures over time as a chart: the warmest reading of each day, and its turns."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from heaps import ledger
from heaps.board.bay import BayFacts
from heaps.ledger.kinds import Reading, Turn

WIDTH, HEIGHT = 300.0, 150.0
#: Days are drawn together beyond so many points, the warmest of them standing for all: the drawing stays small.
MOST_POINTS = 120
COLDEST_C, WARMEST_C = 0, 80
LINES_C = (20, 40, 60)


@dataclass(frozen=True)
class Point:
    """The warmest reading of a day."""

    day: date
    tenths_c: int
    x: float
    y: float


@dataclass(frozen=True)
class Chart:
    """Points and turns in units of the drawing, from its upper left corner."""

    points: tuple[Point, ...]
    turns: tuple[float, ...]
    lines: tuple[tuple[int, float], ...]
    width: float = WIDTH
    height: float = HEIGHT

    @property
    def path(self) -> str:
        """The points as SVG writes a line through them."""
        return " ".join(f"{point.x:.1f},{point.y:.1f}" for point in self.points)

    @property
    def hottest(self) -> Point:
        """The warmest reading of all."""
        return max(self.points, key=lambda point: point.tenths_c)

    @property
    def last(self) -> Point:
        """The latest reading."""
        return self.points[-1]


def chart_of(entries: Iterable[ledger.Entry], bay: BayFacts, today: date) -> Chart | None:
    """The chart of a heap's readings up to today, in the order of `entries`; None where there are fewer than two."""
    warmest: dict[date, int] = {}
    turned: set[date] = set()
    for entry in entries:
        day = bay.day_of(entry.at)
        if isinstance(entry.what, Turn):
            turned.add(day)
        elif isinstance(entry.what, Reading) and entry.what.temp_tenths_c is not None:
            warmest[day] = max(warmest.get(day, entry.what.temp_tenths_c), entry.what.temp_tenths_c)
    if len(warmest) < 2:
        return None
    first, days = min(warmest), max(1, (max(today, max(warmest)) - min(warmest)).days)

    def x(day: date) -> float:
        return WIDTH * (day - first).days / days

    points = tuple(
        Point(day, tenths_c, x(day), _y(tenths_c / 10)) for day, tenths_c in _thinned(sorted(warmest.items()))
    )
    turns = tuple(x(day) for day in sorted(turned) if day >= first)
    return Chart(points, turns, tuple((line_c, _y(line_c)) for line_c in LINES_C))


def _thinned(days: list[tuple[date, int]]) -> list[tuple[date, int]]:
    step = -(-len(days) // MOST_POINTS)
    return [max(days[at : at + step], key=lambda day: day[1]) for at in range(0, len(days), step)]


def _y(temp_c: float) -> float:
    part = (temp_c - COLDEST_C) / (WARMEST_C - COLDEST_C)
    return HEIGHT * (1 - min(1.0, max(0.0, part)))
