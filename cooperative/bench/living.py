"""The living heap, 200 members over 400 days: its own steps against SciPy's solver, for one heap and for twenty.

The fairest use of the solver: all members of all heaps stacked in one vector, the same blocks on both sides, by the
cheapest of its explicit methods that is as near as ours to a tight run. Member by member, as one would write it first,
is measured on eight members and scaled. Then a night of forecasts, with its database.
"""

import time
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from cooperative.bench.figures import Figure, compared
from cooperative.bench.night import night
from heaps.science.living.events import Event, Turn
from heaps.science.living.parameters import MEMBERS, Array, Members, drawn, only
from heaps.science.living.run import run
from tests.living_heaps import BAY, batch, fed, season
from tests.living_solver import solved

DAYS, BLOCK, FEW, SEED = 400, 20, 8, 1
#: Heaps of a large cooperative.
NIGHT = 300
#: Three times as fast as the solver for one heap, or its own steps are not worth their code; of a block it is told.
SLOWEST_ALONE = 1 / 3
#: In steps so fine that the solver gets about the loosest tolerance that is near enough.
WAYS = (
    *(("RK23", rtol) for rtol in (1e-2, 5e-3, 3e-3, 2.5e-3, 2e-3, 1.75e-3, 1.5e-3, 1.25e-3, 1e-3)),
    *(("RK45", rtol) for rtol in (3e-3, 2e-3, 1e-3, 5e-4, 3e-4, 1e-4, 1e-5)),
)


def figures(rounds: int) -> Iterator[Figure]:
    """Each round runs both sides in turns, so that the machine's moods meet both."""
    members, days = drawn(SEED), season(days=DAYS)
    way, near = cheapest(only(members, slice(FEW)))
    yield near
    for name, heaps, bar in (("1 heap", 1, SLOWEST_ALONE), (f"{BLOCK} heaps in a block", BLOCK, None)):
        bays, events = [BAY] * heaps, some_heaps(heaps)
        ours, stacked = [], []
        for _ in range(rounds if heaps == 1 else 1):
            ours.append(milliseconds(partial(run, bays, events, members, days)))
            stacked.append(milliseconds(partial(solved, bays, events, members, days, **way)))
        yield compared(f"forecast: {name}, against all stacked ({way['method']}, {way['rtol']:g})", ours, stacked, bar)
        if heaps == 1:
            each = [milliseconds(partial(alone, only(members, slice(one, one + 1)))) for one in range(FEW)]
            scaled = sum(each) / FEW * MEMBERS
            yield Figure(
                "forecast: 1 heap, against member by member (LSODA, 1e-4)",
                sorted(ours)[len(ours) // 2],
                "ms",
                baseline=scaled,
                spread=f"{FEW} members measured, scaled to {MEMBERS}",
            )
    yield night(NIGHT)


def cheapest(members: Members) -> tuple[dict[str, object], Figure]:
    """The way that asks least often and is as near as ours; and how near ours is, in kelvin."""
    bays, events, days = [BAY], batch(14, 28, 49), season(days=DAYS)
    exact = solved(bays, events, members, days, method="DOP853", rtol=1e-6, atol=1e-8).core_c
    ours = apart_k(run(bays, events, members, days).core_c, exact)
    asked: list[tuple[int, dict[str, object], float]] = []
    for method, rtol in WAYS:
        way: dict[str, object] = {"method": method, "rtol": rtol, "atol": rtol / 1000}
        found = solved(bays, events, members, days, **way)
        if (theirs := apart_k(found.core_c, exact)) <= ours * 1.1:
            asked.append((found.asked, way, theirs))
    _, way, theirs = min(asked, key=lambda one: one[0])
    return way, Figure(
        "forecast: core against a tight run", ours, "K rms", 0.2, spread=f"the solver {theirs:.3f} K rms"
    )


def some_heaps(count: int) -> list[Event]:
    """Batches turned three times and bays fed each week with turns, begun on different days."""
    events: list[Event] = []
    for heap in range(count):
        shift = heap * 3 % 40
        events += fed(range(shift, shift + 180, 7), times=0.06, heap=heap)
        events += [Turn(shift + day, heap) for day in (60, 120, 185)]
    return events


def alone(member: Members) -> None:
    """One member by itself, at a tolerance that one would take."""
    solved([BAY], some_heaps(1), member, season(days=DAYS), method="LSODA", rtol=1e-4, atol=1e-6)


def apart_k(one: Array, other: Array) -> float:
    """Root mean square over all days and members."""
    return float(np.sqrt(((one - other) ** 2).mean()))


def milliseconds(work: Callable[[], object]) -> float:
    """How long one piece of work took."""
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000
