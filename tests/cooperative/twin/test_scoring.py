"""What is counted of forecasts, on forecasts whose end is known by hand."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from cooperative.twin.foretelling import Foretold, Way
from cooperative.twin.records import Came, Kept, Tipped
from cooperative.twin.scoring import Line, Score, Scored, scored
from cooperative.twin.telling import goals
from heaps.science.living.learning import Student

CLOSED = date(2030, 6, 1)
#: Ten bags, 7.7 to 13.0; a hundred days, 77 to 130.
SAID = Foretold(Student(float(np.log(10)), 0.2, 1e6), Student(float(np.log(100)), 0.2, 1e6))
GOOD, BAD = Score(0.80, 0.74, 0.86, 0.20, 5.0), Score(0.60, 0.52, 0.70, 0.20, 5.0)


def line(number: int, way: Way = Way.READ) -> Line:
    loads = (Tipped(CLOSED, "peelings", 100.0),)
    return Line(Kept(f"coop {number % 5}", f"heap {number}", 1, 1, 1, True, False, 45, loads), way, 0, SAID)


def came(bags: float, days: int) -> Came:
    return Came(bags, CLOSED + timedelta(days=days))


def test_ranges_that_hold_errors_and_widths() -> None:
    results = {f"heap {number}": came(10 if number < 8 else 20, 80 if number < 5 else 200) for number in range(10)}
    (one,) = scored([line(number) for number in range(10)], results)
    assert (one.bags.held, one.date.held) == (0.8, 0.5)
    assert one.bags.error == pytest.approx(0, abs=1e-9) and one.date.error == pytest.approx((20 + 100) / 2)
    assert one.bags.width == pytest.approx(10 * (np.exp(0.2563) - np.exp(-0.2563)), rel=1e-3)
    assert one.bags.low < 0.8 < one.bags.high and one.heaps == 10


def test_heaps_of_one_cooperative_that_fail_together_make_the_interval_wider() -> None:
    together = {f"heap {number}": came(10 if number % 5 else 20, 100) for number in range(50)}
    apart = {f"heap {number}": came(10 if number >= 10 else 20, 100) for number in range(50)}
    wide, narrow = (scored([line(number) for number in range(50)], results)[0].bags for results in (together, apart))
    assert wide.held == narrow.held == 0.8
    assert wide.high - wide.low > 2 * (narrow.high - narrow.low)


def test_a_heap_of_which_nothing_came_is_left_out_and_so_is_one_that_was_ready_before_the_look() -> None:
    results = {"heap 0": came(10, 100), "heap 1": came(10, 30)}
    told = [line(number, way) for number in range(3) for way in (Way.READ, Way.LOOKED)]
    assert {one.way: one.heaps for one in scored(told, results)} == {Way.READ: 2, Way.LOOKED: 1}


def row(way: Way, count: int, bags: float, date_d: float, score: Score = GOOD) -> Scored:
    return Scored(way, count, 100, replace(score, error=bags), replace(score, error=date_d))


@pytest.mark.parametrize(
    ("change", "missed"),
    [
        ({}, []),
        ({"bags_0": 0.31}, ["bags after 0: at most"]),
        ({"bags_1": 0.41}, ["bags after 1"]),
        ({"date_1": 53.0}, ["date after 1"]),
        ({"score": BAD}, ["one, 0 harvests: bags", "one, 0 harvests: date"]),
    ],
)
def test_what_was_missed_is_said(change: dict[str, Any], missed: list[str]) -> None:
    now: dict[str, Any] = {"bags_0": 0.29, "bags_1": 0.39, "date_1": 52.0, "score": GOOD, **change}
    rule = [row(Way.RULE, 0, 0.40, 50.0), row(Way.RULE, 1, 0.40, 50.0)]
    read = [
        row(Way.READ, 0, now["bags_0"], 90.0, now["score"]),
        row(Way.READ, 1, now["bags_1"], now["date_1"]),
    ]
    found = [aim for aim, reached in goals({"one": [*rule, *read]}, [*rule, *read]) if not reached]
    assert len(found) == len(missed)
    for aim, begins in zip(sorted(found), sorted(missed), strict=True):
        assert aim.startswith(begins)
