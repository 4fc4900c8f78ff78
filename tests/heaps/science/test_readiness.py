"""Is it ready? Each test by itself, and what several allow together."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.ledger.kinds import Verdict
from heaps.science.readiness import (
    LEAST_REST,
    LOOKS,
    SMELLS,
    Reheating,
    Stage,
    Trial,
    Use,
    flask,
    germination,
    readiness,
    reheating,
)

TURNED = datetime(2027, 6, 1, 9, tzinfo=UTC)
USES = list(Use)


def after(*rises: tuple[float, float], wetted: bool = True) -> Reheating:
    return Reheating(TURNED, wetted, [(TURNED + timedelta(days=day), rise) for day, rise in rises])


@pytest.mark.parametrize(
    ("what", "stage"),
    [
        (after((3, 10), (7, 4)), Stage.FINISHED),
        (after((3, 10.1), (7, 4)), Stage.MATURE),
        (after((2, 25)), Stage.YOUNG),  # new heat counts whenever it shows
        (after((4, 45)), Stage.RAW),
        (after((2, 3)), None),  # too early to say that none comes
        (after((11, 3)), None),  # too late: it may have come and gone
        (after((5, 3), wetted=False), None),  # dry heaps stay cold
        (after((-1, 40), (5, 3)), Stage.FINISHED),  # before the turn
        (after(), None),
    ],
)
def test_no_new_heat_after_a_turn(what: Reheating, stage: Stage | None) -> None:
    assert reheating(what) is stage


@pytest.mark.parametrize(
    ("pots", "stage"),
    [
        ((16, 20, 20, 20), Stage.MATURE),  # 80 % of the control
        ((15, 20, 20, 20), Stage.YOUNG),
        ((18, 20, 20, 20), Stage.FINISHED),
        ((14, 20, 14, 20), Stage.FINISHED),  # as well as a control of which 70 % came up
        ((13, 20, 13, 20), None),  # old seed: the test does not count
        ((9, 9, 9, 9), None),  # too few to tell
        ((9, 10, 18, 20), Stage.FINISHED),
    ],
)
def test_seeds_against_a_control(pots: tuple[int, int, int, int], stage: Stage | None) -> None:
    assert germination(*pots) is stage


def test_the_flask_by_its_published_classes() -> None:
    assert [flask(rise) for rise in (10, 20, 30, 40, 41)] == [
        Stage.FINISHED, Stage.MATURE, Stage.YOUNG, Stage.YOUNG, Stage.RAW,
    ]  # fmt: skip


ALL_WELL: Mapping[Trial, Stage] = dict.fromkeys(Trial, Stage.FINISHED)


def test_pots_want_every_kind_of_test_and_a_rest() -> None:
    assert readiness(ALL_WELL, LEAST_REST).use is Use.POTS
    assert readiness(ALL_WELL, LEAST_REST - timedelta(days=1)).use is Use.DIG_IN
    assert readiness(ALL_WELL).use is Use.DIG_IN
    for trial in (Trial.GERMINATION, Trial.SMELL):
        assert readiness({**ALL_WELL, trial: None}, LEAST_REST).use is Use.DIG_IN
    no_heat_test = {**ALL_WELL, Trial.FLASK: None, Trial.NO_REHEATING: None}
    assert readiness(no_heat_test, LEAST_REST).use is Use.MULCH


def test_looks_alone_allow_mulch_and_no_more() -> None:
    looked = readiness({Trial.LOOK: LOOKS["earthy"], Trial.SMELL: SMELLS["woodland"]}, LEAST_REST)
    assert looked.use is Use.MULCH and looked.agree
    assert looked.missing == (Trial.NO_REHEATING, Trial.FLASK, Trial.GERMINATION)


def test_nothing_known_leaves_it_in_the_heap() -> None:
    nothing = readiness({})
    assert (nothing.use, nothing.agree, nothing.least) == (Use.NONE, False, ())
    assert nothing.missing == tuple(Trial)


def test_tests_that_disagree_are_shown_and_the_slowest_decides() -> None:
    found = readiness({**ALL_WELL, Trial.FLASK: flask(35)}, LEAST_REST)
    assert (found.agree, found.least, found.use) == (False, (Trial.FLASK,), Use.MULCH_APART)
    assert readiness({**ALL_WELL, Trial.SMELL: SMELLS["ammonia"]}, LEAST_REST).use is Use.NONE


def test_the_look_has_five_words_from_the_least_to_the_most() -> None:
    assert len(LOOKS) == 5
    assert list(LOOKS.values()) == sorted(LOOKS.values())


def test_the_tests_are_those_that_a_verdict_can_name() -> None:
    assert {str(trial) for trial in Trial} == set(Verdict.__dataclass_fields__["test"].metadata["choices"])


@given(st.dictionaries(st.sampled_from(Trial), st.sampled_from(Stage)), st.sampled_from(Trial), st.sampled_from(Stage))
def test_a_worse_result_never_allows_more(shown: dict[Trial, Stage], trial: Trial, stage: Stage) -> None:
    before = readiness({**shown, trial: Stage.FINISHED}, LEAST_REST)
    with_it = readiness({**shown, trial: stage}, LEAST_REST)
    assert USES.index(with_it.use) <= USES.index(before.use)
