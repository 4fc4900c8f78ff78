"""Learning in closed forms: against the same sums done another way, and what must hold whatever is learnt."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student

from heaps.science.living.learning import (
    BAGS_BEFORE,
    DAYS_BEFORE,
    DAYS_WITH_LOOK_BEFORE,
    LOOKS,
    MOST_SPREADS,
    Student,
    condition,
    foretell,
    learn,
    regressors,
)
from heaps.science.living.readings import Seen

RANDOM = np.random.default_rng(3)
MEMBERS = RANDOM.multivariate_normal([2.0, 5.0, 1.0], [[0.1, 0.02, 0.06], [0.02, 0.3, 0.0], [0.06, 0.0, 0.09]], 4000).T


def seen(value: float, error: float = 0.1) -> Seen:
    return Seen(np.array([value]), MEMBERS[2:], np.array([[error**2]]))


def test_one_reading_conditions_as_the_regression_of_a_normal_pair() -> None:
    after = condition(MEMBERS[:2], seen(1.3))
    slope = 0.06 / (0.09 + 0.01)
    assert after.mean[0] == pytest.approx(2.0 + slope * 0.3, abs=0.02)
    assert after.variance[0] == pytest.approx(0.1 - slope * 0.06, abs=0.005)
    assert after.mean[1] == pytest.approx(5.0, abs=0.02)
    assert after.doubt[0] < 0.85 < after.doubt[1] <= 1


def test_a_surprise_counts_only_so_far() -> None:
    far, farther = condition(MEMBERS[:2], seen(9.0)), condition(MEMBERS[:2], seen(90.0))
    assert far.mean == pytest.approx(farther.mean)
    spread = np.sqrt(MEMBERS[2].var() + 0.01)
    assert far.mean[0] - 2.0 == pytest.approx(0.6 * MOST_SPREADS * spread, abs=0.05)


def test_members_that_are_not_possible_any_more_count_for_nothing() -> None:
    still = MEMBERS[0] > 2.0
    few = Seen(np.array([1.3]), MEMBERS[2:, still], np.array([[0.01]]))
    assert condition(MEMBERS[:2], seen(1.3), still).mean == pytest.approx(condition(MEMBERS[:2, still], few).mean)
    assert condition(MEMBERS[:2], None, still).mean[0] > 2.1 > condition(MEMBERS[:2], None).mean[0]


def test_bags_lie_between_rule_and_equations_moved_by_readings_and_the_date_is_not_moved() -> None:
    row = regressors(2.0, 3.0, 3.2)
    assert foretell(BAGS_BEFORE, row, 2.0, 1.0).centre == pytest.approx(2.0 + 0.5 + 0.2)
    other = regressors(2.0, 3.0, 2.8)
    assert foretell(DAYS_BEFORE, row, 2.0, 1.0).centre == foretell(DAYS_BEFORE, other, 2.0, 1.0).centre
    learnt = learn(learn(DAYS_BEFORE, row, 1.0, 1.0), other, -1.0, 1.0)
    assert foretell(learnt, row, 2.0, 1.0).centre > foretell(learnt, other, 2.0, 1.0).centre, (
        "harvests showed that they may"
    )


@given(st.floats(-5, 5), st.floats(0.01, 5))
def test_a_reading_never_takes_confidence_away(value: float, error: float) -> None:
    after = condition(MEMBERS[:2], seen(value, error))
    assert (after.variance <= after.before + 1e-12).all() and (after.variance >= 0).all()


def test_harvests_in_any_order_teach_what_one_regression_does() -> None:
    rows = [regressors(2.2, 2.0 + shift, 2.1) for shift in (0.1, -0.3, 0.2, 0.5)]
    over, doubts = [0.2, -0.1, 0.3, 0.1], [1.0, 0.7, 0.8, 0.6]
    learnt = BAGS_BEFORE
    for row, y, doubt in zip(rows, over, doubts, strict=True):
        learnt = learn(learnt, row, y, doubt)
    backwards = BAGS_BEFORE
    for row, y, doubt in reversed(list(zip(rows, over, doubts, strict=True))):
        backwards = learn(backwards, row, y, doubt)
    x, y, weight = np.array(rows), np.array(over), np.diag(1 / np.array(doubts))
    was = np.linalg.inv(BAGS_BEFORE.spread)
    now = np.linalg.inv(was + x.T @ weight @ x)
    mean = now @ (was @ BAGS_BEFORE.mean + x.T @ weight @ y)
    start = BAGS_BEFORE.freedom * BAGS_BEFORE.variance
    left = start + y @ weight @ y + BAGS_BEFORE.mean @ was @ BAGS_BEFORE.mean - mean @ np.linalg.inv(now) @ mean
    for one in (learnt, backwards):
        assert one.mean == pytest.approx(mean)
        assert one.spread == pytest.approx(now)
        assert one.freedom == 10
        assert one.variance == pytest.approx(left / 10)


def test_a_cooperative_that_always_gets_a_third_less_is_told_a_third_less() -> None:
    learnt, row = BAGS_BEFORE, regressors(2.0, 2.0, 2.0)
    before = foretell(learnt, row, 2.0, 1.0)
    for _ in range(10):
        learnt = learn(learnt, row, float(np.log(2 / 3)), 1.0)
    after = foretell(learnt, row, 2.0, 1.0)
    assert before.centre == pytest.approx(2.0)
    assert after.centre == pytest.approx(2.0 + np.log(2 / 3), abs=0.05)
    assert after.scale < before.scale


def test_students_range_and_where_not_yet_cuts_it() -> None:
    whole, cut = Student(5.0, 0.6, 6.0), Student(5.0, 0.6, 6.0, above=5.2)
    assert whole.at(0.9) == pytest.approx(student.ppf(0.9, 6, 5.0, 0.6))
    beyond = student.sf(5.2, 6, 5.0, 0.6)
    for share in (0.1, 0.5, 0.9):
        assert cut.at(share) > 5.2
        assert student.sf(cut.at(share), 6, 5.0, 0.6) == pytest.approx((1 - share) * beyond)


def test_a_look_that_finds_little_left_means_sooner() -> None:
    centres = [
        foretell(DAYS_WITH_LOOK_BEFORE, regressors(5.0, 5.0, 5.0, look), 5.0, 1.0).centre
        for look in ("all", "half", "none")
    ]
    assert centres == sorted(centres, reverse=True)
    assert list(LOOKS.values()) == sorted(LOOKS.values(), reverse=True)
