"""When a heap would be called ready by eye and hand, and when a breathing test would say so, too."""

from dataclasses import replace
from functools import cache

import numpy as np

from heaps.science.living.events import Move
from heaps.science.living.parameters import middle
from heaps.science.living.ready import GONE, REST_DAYS, WARM_K
from heaps.science.living.run import Course, run
from tests.living_heaps import BAY, batch, season


@cache
def lived(shift: float) -> Course:
    """The same heap, for people who look less close (below 0) or closer."""
    people = replace(middle(), gone_shift=np.array([shift]))
    return run([BAY], batch(14, 28, 49), people, season(days=300))


def test_who_looks_closer_calls_it_later_and_fills_fewer_bags() -> None:
    called = []
    for shift in (0.0, 0.5, 1.0):
        course = lived(shift)
        day = int(course.called_day[0, 0])
        called.append((day, -course.called_m3[0, 0]))
        assert course.gone[day, 0, 0] >= 1 / (1 + np.exp(-shift) * (1 - GONE) / GONE)
        assert course.core_c[day, 0, 0] - course.air_c[day - 6 : day + 1].mean() < WARM_K
        assert course.called_m3[0, 0] == course.volume_m3[day, 0, 0] and day >= REST_DAYS
    assert called == sorted(called) and len({day for day, _ in called}) == 3


def test_a_breathing_test_asks_no_eye_and_says_so_later_than_the_usual_one() -> None:
    assert lived(-1.0).ready_day == lived(1.0).ready_day > lived(0.0).called_day > 0


def test_what_was_ready_before_it_is_moved_stays_so() -> None:
    still, late = lived(0.0), 280
    moved = run([BAY, BAY], [*batch(14, 28, 49), Move(late, 0, 1)], middle(), season(days=300))
    assert 0 < still.ready_day[0, 0] < late
    for before, after in (
        (still.called_day, moved.called_day),
        (still.called_m3, moved.called_m3),
        (still.ready_day, moved.ready_day),
    ):
        assert after[1, 0] == before[0, 0]
