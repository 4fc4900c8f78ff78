"""A sign, and its likely causes ranked by the heap's own numbers."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import IntEnum

from heaps.science.blend import Mix
from heaps.science.hot_heap import LEAST_HOT_L
from heaps.science.signs import SIGNS, Cause, Do
from heaps.science.targets import ACCEPTABLE, IDEAL, LEAST_AIR, LEFT_ALONE, MUCH_GRASS, as_felt

#: Days: "monthly" turns (RHS-COMP, read); a hot heap is turned every three to seven days (from memory, high); half a
#: year at least when it is turned monthly (RHS-COMP, read).
SELDOM_DAYS, USED_UP_DAYS, HALF_A_YEAR = 30, 7, 182
#: From November to March small bays stayed a few degrees above the air (RHS-TRIAL, read at second hand).
COLD_MONTHS = (11, 12, 1, 2, 3)
#: Heat that seed does not outlive in four weeks (TOMPKINS98, abstract read).
SEED_C = 55.0
SHEETS = ("grass", "leaves soft", "leaves mixed", "leaves tough", "cardboard", "paper")
DUNG_AND_STRAW = ("horse-", "cattle-", "farmyard-", "sheep-", "hay", "straw-", "silage")


class Says(IntEnum):
    """What the heap's own numbers say of a cause. Where they say nothing, it stays likely as the table has it."""

    AGAINST = 0
    NOTHING = 1
    FOR = 2


@dataclass(frozen=True)
class Seen:
    """What is known of a heap. None: nobody has looked. `materials` are the keys of what went in."""

    mix: Mix = field(default_factory=Mix)
    materials: frozenset[str] = frozenset()
    squeeze: str | None = None
    volume_l: float | None = None
    days_since_turn: int | None = None
    days_since_load: int | None = None
    month: int | None = None
    covered: bool | None = None
    hottest_c: float | None = None
    ready: bool = False


@dataclass(frozen=True)
class Likely:
    """A cause, what the numbers say of it, and the figure that it was judged by (None: there is none)."""

    cause: Cause
    says: Says
    figure: float | None = None
    bound: float | None = None


@dataclass(frozen=True)
class Diagnosis:
    """The causes of a sign, likeliest first; what to do; and in how many days to look again."""

    causes: tuple[Likely, ...]
    do: tuple[Do, ...]
    look_again_days: int


@dataclass(frozen=True)
class _Gauge:
    """A figure that speaks for a cause at `speaks_for` and beyond, and against it at `speaks_against` and beyond."""

    of: Callable[[Seen], float | None]
    speaks_for: float
    speaks_against: float


def diagnosis(sign: str, seen: Seen) -> Diagnosis:
    """What a sign of the table comes from in this heap. In ties the order of the published table decides."""
    row = SIGNS[sign]
    causes = sorted((_likely(cause, seen) for cause in row.causes), key=lambda one: -one.says)
    return Diagnosis(tuple(causes), row.do, row.look_again_days)


def _likely(cause: Cause, seen: Seen) -> Likely:
    gauge = GAUGES.get(cause)
    figure = gauge.of(seen) if gauge else None
    if gauge is None or figure is None:
        return Likely(cause, Says.NOTHING)
    rises = gauge.speaks_for > gauge.speaks_against
    if figure >= gauge.speaks_for if rises else figure <= gauge.speaks_for:
        return Likely(cause, Says.FOR, figure, gauge.speaks_for)
    against = figure <= gauge.speaks_against if rises else figure >= gauge.speaks_against
    return Likely(cause, Says.AGAINST if against else Says.NOTHING, figure, gauge.speaks_for)


def _share(*classes: str) -> Callable[[Seen], float | None]:
    return lambda seen: seen.mix.share_of(*classes) if seen.mix.tipped_l > 0 else None


def _has(*beginnings: str) -> Callable[[Seen], float | None]:
    """1 if something of this kind went in, 0 if not; None if it is not known what went in."""
    return lambda seen: float(any(key.startswith(beginnings) for key in seen.materials)) if seen.materials else None


def _moisture(seen: Seen) -> float | None:
    """As the hand felt it, else as the sums have it."""
    return as_felt(seen.mix, seen.squeeze).moisture_fraction


def _yes(value: bool | None) -> float | None:
    return None if value is None else float(value)


def _months(months: Iterable[int]) -> Callable[[Seen], float | None]:
    return lambda seen: None if seen.month is None else float(seen.month in months)


_DRY = _Gauge(_moisture, LEFT_ALONE.moisture[0], 0.45)
#: The bounds are those of the published ranges (`targets`), or stand above. Between the two a figure says nothing.
GAUGES: dict[Cause, _Gauge] = {
    Cause.TOO_GREEN: _Gauge(lambda seen: seen.mix.c_to_n, LEFT_ALONE.c_to_n[0], 30.0),
    Cause.LIME_OR_ASH: _Gauge(_share("wood ash"), 0.01, 0.0),
    Cause.NO_AIR: _Gauge(lambda seen: seen.mix.free_air_space, LEAST_AIR, 0.60),
    Cause.TOO_WET: _Gauge(_moisture, ACCEPTABLE.moisture[1], IDEAL.moisture[1]),
    Cause.NO_ROOF: _Gauge(lambda seen: _yes(seen.covered), 0.0, 1.0),
    Cause.TOO_DRY: _DRY,
    Cause.DRY_EDGES: _DRY,
    Cause.TOO_BROWN: _Gauge(lambda seen: seen.mix.c_to_n, LEFT_ALONE.c_to_n[1], ACCEPTABLE.c_to_n[1]),
    Cause.DONE: _Gauge(lambda seen: seen.days_since_load, HALF_A_YEAR, HALF_A_YEAR / 3),
    Cause.SMALL: _Gauge(lambda seen: seen.volume_l, 0.8 * LEAST_HOT_L, 1.2 * LEAST_HOT_L),
    Cause.WINTER: _Gauge(_months(COLD_MONTHS), 1.0, 0.0),
    Cause.USED_UP: _Gauge(lambda seen: seen.days_since_turn, USED_UP_DAYS, 2),
    Cause.BIG_AND_RICH: _Gauge(lambda seen: seen.mix.c_to_n, 30.0, LEFT_ALONE.c_to_n[1]),
    Cause.OPEN_FRUIT: _Gauge(_share("kitchen"), 0.01, 0.0),
    Cause.MEAT_OR_DUNG: _Gauge(_share("manure"), 0.01, -1.0),
    Cause.FOOD: _Gauge(_share("kitchen"), 0.01, -1.0),
    Cause.QUIET: _Gauge(lambda seen: seen.days_since_turn, SELDOM_DAYS, 7),
    Cause.SHEETS: _Gauge(_share(*SHEETS), MUCH_GRASS, 0.20),
    Cause.TOUGH_LEAVES: _Gauge(_share("leaves tough"), 0.30, 0.05),
    Cause.WOODY: _Gauge(_share("woody"), 0.20, 0.05),
    Cause.NEVER_TURNED: _Gauge(lambda seen: seen.days_since_turn, HALF_A_YEAR, SELDOM_DAYS),
    Cause.SEED_LIVED: _Gauge(lambda seen: seen.hottest_c, SEED_C, 1_000.0),
    Cause.ROOTS_LIVE: _Gauge(_has("weed-roots"), 1.0, -1.0),
    Cause.TOO_YOUNG: _Gauge(lambda seen: float(seen.ready), 0.0, 1.0),
    Cause.WEEDKILLER: _Gauge(_has(*DUNG_AND_STRAW), 1.0, -1.0),
}
