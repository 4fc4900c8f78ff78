"""How far off forecasts were: ranges that held, errors, widths, and how sure one can be of that."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from cooperative.twin.foretelling import LOOKED_DAYS, Foretold, Seen, Way, taught
from cooperative.twin.records import Came, Kept
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
    """One way after so many harvests: bags (error as a share of what came) and date (in days), of so many heaps."""

    way: Way
    harvests: int
    heaps: int
    bags: Score
    date: Score


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
        if result and not (late and (result.ready - one.kept.closed).days <= LOOKED_DAYS):
            groups[one.way, one.harvests].append(one)
    return [_scores(way, count, group, came) for (way, count), group in sorted(groups.items(), key=_order)]


def _order(group: tuple[tuple[Way, int], list[Line]]) -> tuple[int, int]:
    way, count = group[0]
    return list(Way).index(way), count


def _scores(way: Way, count: int, group: Sequence[Line], came: Mapping[str, Came]) -> Scored:
    coops = [one.kept.coop for one in group]
    results = [came[one.kept.heap] for one in group]
    filled = np.array([one.bags for one in results])
    days = np.array([max((one.ready - line.kept.closed).days, 1) for one, line in zip(results, group, strict=True)])
    of_bags = np.exp([[one.said.bags.at(share) for share in (0.1, 0.5, 0.9)] for one in group]).T
    of_days = np.exp([[one.said.days.at(share) for share in (0.1, 0.5, 0.9)] for one in group]).T
    return Scored(
        way, count, len(group), _score(of_bags, filled, coops, filled), _score(of_days, days, coops, np.ones(len(days)))
    )


def _score(said: Array, came: Array, coops: Sequence[str], per: Array) -> Score:
    low, middle, high = said
    held = ((low <= came) & (came <= high)).astype(float)
    least, most = _interval(held, coops)
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
