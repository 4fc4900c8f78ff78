"""The living heap's middle member against what is published of heaps. `living.csv` names each source and band.

Some eight numbers were tuned with these bands in view, so they show that one model can hold them all, not that it
foresees anything. What it misses stands there as `differs`, and is held to be missed, so that a change is noticed.
"""

import csv
from collections.abc import Callable, Iterable
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from heaps.science.blend import blend
from heaps.science.living.events import Event, Move, Turn, Watering
from heaps.science.living.parameters import middle
from heaps.science.living.run import Course, run
from heaps.science.living.state import Bay
from tests.living_heaps import DRY, GOOD, HOUSEHOLD, MAY, batch, fed, part, season, tipped

ROWS = {
    row["id"]: row
    for row in csv.DictReader(Path(__file__).with_name("living.csv").read_text(encoding="utf-8").splitlines())
}
APRIL, OCTOBER, LEAF_FALL = date(2027, 4, 1), date(2027, 10, 1), date(2027, 11, 15)
BAY, BIN, LEAF_BIN = Bay(1.1, 1.1), Bay(0.65, 0.65), Bay(1, 1, covered=False, leaf=True)
BAY_M3, BIN_M3 = 1.2, 0.33


def course(events: Iterable[Event], *bays: Bay, begins: date = MAY, days: int = 400) -> Course:
    return run(bays or [BAY], events, middle(), season(begins, days))


@cache
def piled(cubic_metres: float, side_m: float, *turns: int, days: int = 400) -> Course:
    return course(batch(*turns, times=cubic_metres / 1.2), Bay(side_m, side_m), days=days)


def core(of: Course, begin: int = 0, end: int = 400, row: int = 0) -> float:
    return float(of.core_c[begin:end, row].max())


def over_one_left_alone(day: int) -> float:
    return core(piled(1.2, 1.1, 14, 28, 49), day, day + 10) - core(piled(1.2, 1.1), day, day + 10)


@cache
def filled_slowly(forked: bool) -> Course:
    return course([*fed(range(0, 90, 4), times=0.8 / 23), *([Turn(90, 0)] if forked else [])], begins=APRIL)


@cache
def small_bin() -> Course:
    return course(fed(range(0, 364, 7), times=20 / 1500), BIN, begins=APRIL, days=364)


@cache
def household_bin() -> Course:
    kg_m3 = blend(part(key, litres) for key, litres in HOUSEHOLD.items()).wet_kg
    return course(fed(range(0, 364, 7), HOUSEHOLD, 400 / kg_m3 / 52), BIN, begins=APRIL, days=364)


@cache
def winter(*turns: int) -> Course:
    return course([*fed(range(0, 180, 7), times=1 / 20), *(Turn(day, 0) for day in turns)], begins=OCTOBER, days=800)


@cache
def leaves(kind: str, days: int = 1200) -> Course:
    return course(tipped({kind: 1500}), LEAF_BIN, begins=LEAF_FALL, days=days)


@cache
def forked_together() -> Course:
    each = 0.6 * 0.25 * 1.25 / 1.5 * 12 / 13
    events = [*fed(range(0, 90, 7), times=each), *fed(range(90, 182, 7), times=each, heap=1), Move(182, 0, 1)]
    return course(events, BAY, BAY, begins=APRIL)


@cache
def dry(watered: bool) -> Course:
    return course([*tipped(DRY), *([Watering(20, 0, 110)] if watered else [])], days=120)


def waits(of: Course) -> float:
    assert of.ready_day[0, 0] >= 0, "never ready"
    return float(of.ready_day[0, 0] - of.fed_day[0, 0])


def dry_lost(of: Course) -> float:
    return 1 - float(of.end.dry_kg[0, 0]) / blend(part(key, litres) for key, litres in GOOD.items()).dry_kg


def volume(of: Course, day: int, row: int = 0) -> float:
    return float(of.volume_m3[day, row, 0])


@cache
def finished() -> Course:
    return piled(1.2, 1.1, 14, 28, 49, days=int(waits(piled(1.2, 1.1, 14, 28, 49))) + 1)


def wet_kg(of: Course) -> float:
    return float(of.end.dry_kg[0, 0] + of.end.water_kg[0, 0])


OURS: dict[str, Callable[[], float]] = {
    "E1": lambda: core(piled(1.0, 1.0), 0, 5),
    "E2a": lambda: float(np.mean(small_bin().core_c[30:, 0, 0] - small_bin().air_c[30:])),
    "E2b": lambda: core(small_bin()),
    "E3a": lambda: core(piled(0.12, 0.5)),
    "E3b": lambda: core(piled(0.34, 0.7)),
    "E3c": lambda: core(piled(2.9, 1.4)) - core(piled(1.0, 1.0)),
    "E4": lambda: core(filled_slowly(True), 90, 97),
    "E4b": lambda: core(filled_slowly(False), 90, 97),
    "E5a": lambda: over_one_left_alone(14),
    "E5b": lambda: over_one_left_alone(28),
    "E5c": lambda: core(piled(1.2, 1.1, 14, 28, 49), 28, 38),
    "E6a": lambda: dry_lost(piled(1.2, 1.1, 14, 28, 49)),
    "E6b": lambda: dry_lost(piled(1.2, 1.1)),
    "E7": lambda: 1 - wet_kg(household_bin()) / 400,
    "E8": lambda: 1 - volume(piled(1.2, 1.1, 14, 28, 49), 120) / 1.2,
    "E9": lambda: waits(piled(1.2, 1.1, *range(7, 100, 7))),
    "E10a": lambda: waits(piled(1.2, 1.1)),
    "E10b": lambda: waits(winter()),
    "E10c": lambda: waits(winter(240, 300)) / waits(winter()),
    "E11a": lambda: waits(leaves("leaves-quick")) / 30.4,
    "E11b": lambda: waits(leaves("leaves-oak")) / 30.4,
    "E12a": lambda: volume(leaves("leaves-mixed"), 60) / 1.2,
    "E12b": lambda: volume(leaves("leaves-mixed"), 335) / 1.2,
    "E13a": lambda: volume(forked_together(), 182, 1) / BAY_M3,
    "E13b": lambda: volume(forked_together(), 212, 1) / BAY_M3,
    "E14a": lambda: wet_kg(finished()) / volume(finished(), -1),
    "E14b": lambda: float(finished().end.moisture[0, 0]),
    "E15": lambda: volume(household_bin(), -1) / BIN_M3,
    "E16a": lambda: core(dry(False)),
    "E16b": lambda: core(dry(True), 20) - core(dry(False), 20),
}


@pytest.mark.parametrize("row", ROWS)
def test_what_is_published(row: str) -> None:
    wanted, ours = ROWS[row], OURS[row]()
    holds = float(wanted["low"]) <= ours <= float(wanted["high"])
    assert holds is not bool(wanted["differs"]), f"{wanted['what']}: {ours:.2f}, {wanted['low']} to {wanted['high']}"


def test_every_expectation_is_tried_and_has_a_source() -> None:
    assert set(OURS) == set(ROWS)
    assert all(row["source"] and row["status"] for row in ROWS.values())
    assert {f"E{number}" for number in range(1, 17)} == {row.rstrip("abc") for row in ROWS}
