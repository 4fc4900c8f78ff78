"""What may come out of a heap and when, in wide ranges from published losses and times; never a day."""

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, floor

from heaps.science.blend import PACKING

#: Share of the litres tipped that comes out. High: a full cycle takes a quarter of a heap's volume at least
#: (NRAES-54 1992: a quarter to more than half, from memory, high), on the volume in the heap. Low: a rule of
#: thumb of 25 % of the litres tipped, less 15 % that stays on the sieve (both common practice).
MIXED_SHARE = (0.25 * (1 - 0.15), 0.75 / PACKING)
#: Leaf mould: a cubic metre of loose leaves gives 0.2 to 0.3 (reckoned from bulk densities 110 and 300 to
#: 600 kg/m3), or down to a quarter or a third in one to two years (from memory, medium).
LEAF_SHARE = (0.20, 0.35)
#: An opening fill was judged by eye: a third more or less (common practice).
GUESS = 1 / 3

#: Weeks from the last load until ready.
HOT_WEEKS = (8, 16)  # turned every few days, 1 m3 or more (from memory, high)
MONTHLY_WEEKS = (26, 52)  # turned about monthly (RHS-COMP, read: monthly, from six months)
UNTURNED_WEEKS = (39, 104)  # never or seldom turned (RHS, read: 6 to 24 months; low end from memory)
LEAF_WEEKS = (52, 104)  # RHS-LM, read; oak and beech, mulch after one year, potting after two
HOT_TURNS, HOT_DAYS_BETWEEN = 3, 10  # "every 3 to 7 days", with a few days' grace
MONTHLY_DAYS_BETWEEN = 45  # "monthly", with two weeks' grace


@dataclass(frozen=True)
class Range:
    """From `low` to `high`, both included."""

    low: int
    high: int


def bags_to_expect(tipped_l: float, bag_l: float, leaf: bool = False, guessed: bool = False) -> Range:
    """Whole bags that what was tipped may give, before anything was taken. Low is rounded down, high up."""
    low, high = LEAF_SHARE if leaf else MIXED_SHARE
    if guessed:
        low, high = low * (1 - GUESS), high * (1 + GUESS)
    return Range(floor(bags_in(tipped_l * low, bag_l)), ceil(bags_in(tipped_l * high, bag_l)))


def bags_in(volume_l: float, bag_l: float) -> float:
    """How many bags a volume fills, with the part of the last one."""
    return volume_l / bag_l


def ready_between(since: date, turns: int, days: int, leaf: bool = False) -> tuple[date, date]:
    """The earliest and latest day on which a heap last fed on `since` may be ready, if it goes on as it does.

    `turns` is how often its matter has been turned in all, `days` how old the first load is, wherever it lay.
    Callers show months: the days mean nothing.
    """
    earliest, latest = _weeks(turns, days, leaf)
    return since + timedelta(weeks=earliest), since + timedelta(weeks=latest)


def _weeks(turns: int, days: int, leaf: bool) -> tuple[int, int]:
    if leaf:
        return LEAF_WEEKS
    if turns >= HOT_TURNS and days <= turns * HOT_DAYS_BETWEEN:
        return HOT_WEEKS
    if turns >= 1 and days <= turns * MONTHLY_DAYS_BETWEEN:
        return MONTHLY_WEEKS
    return UNTURNED_WEEKS
