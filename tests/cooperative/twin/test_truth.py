"""The other equations: nothing is made or lost in them, and heaps take as long as is published."""

from collections.abc import Sequence
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest

from cooperative.twin.lies import Lies, Load, bury, tip, turn
from cooperative.twin.stuff import MATERIALS, load
from cooperative.twin.truth import Day, live_a_day
from cooperative.twin.worlds import HELD_OUT, TUNED, usual
from heaps.science.climate import UK_LOWLAND, evaporation_mm

KEYS = tuple(MATERIALS)
ONCE, EACH_WEEK = (0,), tuple(range(0, 180, 7))
#: Begins, litres tipped in all, on which days, turned on which, and what is published of the time to ready.
CASES = {
    "hot and turned": (date(2027, 5, 1), 1500, ONCE, (14, 28, 49), (42, 92)),  # tests/published/living.csv, E9
    "filled in winter, never turned": (date(2027, 10, 1), 1950, EACH_WEEK, (), (180, 550)),  # E10b
    "the same, turned twice": (date(2027, 10, 1), 1950, EACH_WEEK, (240, 300), (90, 270)),
}


def of(litres: Sequence[float]) -> Load:
    shares, one = np.array(list(MATERIALS.values())), np.ones((len(litres), len(KEYS)))
    return load(np.array(litres)[:, None] * shares, KEYS, one, one, usual(len(litres)))


@cache
def lived() -> tuple[np.ndarray, np.ndarray]:
    """Each case's first ready day after its last load, and the hottest core."""
    cases = list(CASES.values())
    count = len(cases)
    nature, lies = usual(count), Lies.nothing(np.full(count, 1.21), np.full(count, 10.0))
    ready, hottest, one = np.full(count, -1), np.zeros(count), np.ones((count, 1))
    last = np.array([days[-1] for _, _, days, _, _ in cases])
    for day in range(520):
        air = np.array([[UK_LOWLAND.on(begins + timedelta(days=day))[0]] for begins, *_ in cases])
        tip(lies, of([litres / len(days) if day in days else 0.0 for _, litres, days, *_ in cases]), air)
        turn(lies, nature, np.array([[day in turns] for *_, turns, _ in cases]), air)
        live_a_day(lies, nature, Day(air, 4 * one, 1.9 * one, np.vectorize(evaporation_mm)(air)), one)
        rotten = (lies.recognisable < nature.eye)[:, 0] & (lies.temp_c[:, 0] - air[:, 0] < 12) & (day > last + 20)
        ready[(ready < 0) & rotten] = day
        hottest = np.maximum(hottest, lies.temp_c.max(1))
        if (ready >= 0).all():
            break
    return ready - last, hottest


@pytest.mark.parametrize("case", CASES)
def test_it_takes_as_long_as_is_published(case: str) -> None:
    days, hottest = lived()
    place, (low, high) = list(CASES).index(case), CASES[case][-1]
    assert low <= days[place] <= high
    assert hottest[place] < 75


def test_a_heap_of_a_cubic_metre_gets_hot() -> None:
    assert 55 <= lived()[1][0] <= 75  # E1 is of the first days; its upper end is a probe's


def test_ash_stays_dry_matter_never_grows_and_moving_it_makes_nothing() -> None:
    lies, nature, air = Lies.nothing(np.array([1.2]), np.array([10.0])), usual(1), np.array([[12.0]])
    for litres in (400.0, 800.0):
        tip(lies, of([litres]), air)
        before = {name: getattr(lies, name).sum() for name in ("ash", "water", "soluble", "resistant")}
        heat = (lies.heat_mj_k * lies.temp_c).sum()
        bury(lies, nature)
        assert {name: getattr(lies, name).sum() for name in before} == pytest.approx(before)
        assert (lies.heat_mj_k * lies.temp_c).sum() == pytest.approx(heat)
        turn(lies, nature, np.array([[True]]), air)
        assert {name: getattr(lies, name).sum() for name in before} == pytest.approx(before)
    ash, dry = lies.ash.sum(), lies.organic.sum()
    for _ in range(40):
        live_a_day(lies, nature, Day(air, np.array([[4.0]]), np.array([[1.0]]), np.array([[0.5]])), np.array([[1.0]]))
        assert lies.organic.sum() < dry
        dry = lies.organic.sum()
        assert lies.ash.sum() == pytest.approx(ash)
        assert min(lies.water.min(), lies.soluble.min(), lies.volume_m3.min()) > 0


def test_worlds_held_out_share_no_seed_with_those_for_tuning() -> None:
    assert len(HELD_OUT) >= 4
    assert len({one.seed for one in (*TUNED, *HELD_OUT)}) == len(TUNED) + len(HELD_OUT)
    drawn = [one.nature(2, 3) for one in (TUNED[0], TUNED[0], HELD_OUT[0])]
    assert (drawn[0].stiff == drawn[1].stiff).all() and (drawn[0].stiff != drawn[2].stiff).all()
