"""How far off forecasts were: ranges that held, errors, widths, and how sure one can be of that."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from cooperative.twin.foretelling import LOOKED_DAYS, Foretold, Seen, Way, taught
from cooperative.twin.records import Came, Kept
from heaps.science.living.learning import Student
from heaps.science.living.parameters import Array

HARVESTS = (0, 1, 3, 10)
#: How often cooperatives are drawn again for an interval.
AGAIN = 2000


@dataclass(frozen=True)
class Line:
    """One forecast of one heap."""

    kept: Kept
    way: Way
    harvests: int
    said: Foretold


@dataclass(frozen=True)
class Score:
    """Of one output: the share of ranges that held with its interval of 95 %, the median of errors and of widths."""

    held: float
    low: float
    high: float
    error: float
    width: float


@dataclass(frozen=True)
class Scored:
    """One way after so many harvests, of so many heaps: bags (error as a share of what came), and the date of those of
    which it is known (in days)."""

    way: Way
    harvests: int
    heaps: int
    bags: Score
    date: Score | None


def lines(seen: Mapping[str, Seen], came: Mapping[str, Came], all_are_asked: bool) -> list[Line]:
    """Forecasts in each way after each number of harvests of the same cooperative, the first that closed.

    Where `all_are_asked`, a heap that teaches is asked about while it does not teach yet, which needs worlds whose
    end is known. Otherwise `came` are harvests of the past, and only heaps without one are asked about.
    """
    coops: dict[str, list[Seen]] = defaultdict(list)
    for one in sorted(seen.values(), key=lambda one: (one.kept.closed, one.kept.heap)):
        coops[one.kept.coop].append(one)
    told = []
    for heaps in coops.values():
        over = [(one, came[one.kept.heap]) for one in heaps if one.kept.heap in came]
        for count in (count for count in HARVESTS if count <= len(over)):
            past = over[:count]
            teaches = {one.kept.heap for one, _ in (past if all_are_asked else over)}
            asked = [one for one in heaps if one.kept.heap not in teaches]
            told += [line for way in Way for line in _tell(way, past, asked)]
    return told


def _tell(way: Way, past: Sequence[tuple[Seen, Came]], asked: Sequence[Seen]) -> list[Line]:
    learnt = taught(past, way)
    can = [one for one in asked if one.look or way not in (Way.LOOKED, Way.UNLOOKED)]
    return [Line(one.kept, way, len(past), learnt.foretell(one)) for one in can]


def scored(told: Sequence[Line], came: Mapping[str, Came]) -> list[Scored]:
    """Each way after each number of harvests. Heaps of which nothing came are left out."""
    groups: dict[tuple[Way, int], list[Line]] = defaultdict(list)
    for one in told:
        result = came.get(one.kept.heap)
        late = one.way in (Way.LOOKED, Way.UNLOOKED)
        if result and not (late and result.ready and one.kept.days_until(result.ready) <= LOOKED_DAYS):
            groups[one.way, one.harvests].append(one)
    return [_scores(way, count, group, came) for (way, count), group in sorted(groups.items(), key=_order)]


def _order(group: tuple[tuple[Way, int], list[Line]]) -> tuple[int, int]:
    way, count = group[0]
    return list(Way).index(way), count


def _scores(way: Way, count: int, group: Sequence[Line], came: Mapping[str, Came]) -> Scored:
    filled = np.array([came[one.kept.heap].bags for one in group])
    bags = _score([one.said.bags for one in group], filled, group, filled)
    dated = [(one, ready) for one in group if (ready := came[one.kept.heap].ready)]
    days = np.array([one.kept.days_until(ready) for one, ready in dated])
    of_date = [one for one, _ in dated]
    date = _score([one.said.days for one in of_date], days, of_date, np.ones(len(days))) if dated else None
    return Scored(way, count, len(group), bags, date)


def _score(said: Sequence[Student], came: Array, lines: Sequence[Line], per: Array) -> Score:
    low, middle, high = np.exp([[one.at(share) for share in (0.1, 0.5, 0.9)] for one in said]).T
    held = ((low <= came) & (came <= high)).astype(float)
    least, most = _interval(held, [one.kept.coop for one in lines])
    error = float(np.median(np.abs(middle - came) / per))
    return Score(float(held.mean()), least, most, error, float(np.median(high - low)))


def _interval(held: Array, coops: Sequence[str]) -> tuple[float, float]:
    """Cooperatives drawn again and again, because heaps of one are alike."""
    names, place = np.unique(np.array(coops), return_inverse=True)
    sums, counts = np.bincount(place, held), np.bincount(place)
    drawn = np.random.Generator(np.random.PCG64(7)).integers(0, len(names), (AGAIN, len(names)))
    shares = sums[drawn].sum(1) / counts[drawn].sum(1)
    low, high = np.quantile(shares, (0.025, 0.975))
    return float(low), float(high)
