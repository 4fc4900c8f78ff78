"""A heap at rest lives some days at once, a lively one parts of a day; what comes out is the same."""

from typing import Any

import numpy as np
import pytest

from heaps.science.living import heating, stretches
from heaps.science.living import run as running
from heaps.science.living.events import Turn
from heaps.science.living.parameters import drawn
from heaps.science.living.run import Course, run
from heaps.science.living.state import Bay
from heaps.science.living.stretches import LONGEST_DAYS, STEPS
from tests.living_heaps import BAY, NOVEMBER, batch, season, tipped

LEAF_BIN = Bay(1, 1, covered=False, leaf=True)
DAYS = 480


@pytest.fixture
def lived(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The days of each stretch that runs are made of."""
    seen: list[int] = []
    live = running.live

    def noted(*what: Any) -> None:
        seen.append(what[-1])
        live(*what)

    monkeypatch.setattr(running, "live", noted)
    return seen


def leaf_bin() -> Course:
    return run([LEAF_BIN], tipped({"leaves-quick": 1500}), drawn(3, 20), season(NOVEMBER, DAYS), note_on=203)


def test_heaps_at_rest_take_days_at_once_and_lively_ones_take_steps(
    lived: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[int] = []
    go = heating._go
    monkeypatch.setattr(heating, "_go", lambda *what: steps.append(what[-1]) or go(*what))
    run([BAY], batch(14), drawn(3, 20), season())
    assert sum(lived) == 400 > 2 * len(lived)
    assert max(lived) == LONGEST_DAYS
    assert set(steps) == set(STEPS)


def test_day_by_day_it_comes_to_the_same(monkeypatch: pytest.MonkeyPatch, lived: list[int]) -> None:
    by_stretches = leaf_bin()
    at_once = len(lived)
    monkeypatch.setattr(stretches, "LONGEST_DAYS", 1)
    by_days = leaf_bin()
    assert len(lived) - at_once == DAYS > 3 * at_once
    assert len(np.unique(by_days.called_day)) > 5
    for stretched, daily in (
        (by_stretches.called_day, by_days.called_day),
        (by_stretches.ready_day, by_days.ready_day),
    ):
        assert np.abs(stretched - daily).max() <= 2
        assert np.abs(stretched - daily).mean() < 0.5
    assert np.abs(by_stretches.called_m3 / by_days.called_m3 - 1).max() < 0.005
    assert np.abs(by_stretches.volume_m3 / by_days.volume_m3 - 1).max() < 0.005
    assert np.sqrt(((by_stretches.core_c - by_days.core_c) ** 2).mean()) < 0.1
    assert by_stretches.noted and by_days.noted
    assert by_stretches.noted.volume_m3 == pytest.approx(by_days.noted.volume_m3, rel=0.005)


def test_a_stretch_ends_before_something_is_done_and_where_a_note_is_wanted(lived: list[int]) -> None:
    events = [*tipped({"leaves-quick": 1500}), Turn(205, 0)]
    course = run([LEAF_BIN], events, drawn(3, 5), season(NOVEMBER, 300), note_on=203)
    mornings = np.cumsum([0, *lived])
    assert {0, 203, 205, 300} <= set(mornings.tolist())
    assert (course.volume_m3[205] > course.volume_m3[204]).all()
