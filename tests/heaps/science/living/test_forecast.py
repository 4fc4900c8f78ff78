"""Forecasts of one site: ranges that make sense, bad data set aside, and what is worth measuring."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np
import pytest

from heaps.science.climate import UK_LOWLAND
from heaps.science.living import forecast, outlook
from heaps.science.living.events import Event, Move, Opening, Taking, Turn
from heaps.science.living.forecast import foresee
from heaps.science.living.foresight import Doubt, Forecast, Measure, When
from heaps.science.living.outlook import Ground, Learning, Record
from heaps.science.living.parameters import drawn
from heaps.science.living.readings import Aside, Fill, Warmth, Why, believe
from heaps.science.living.state import Bay
from tests.living_heaps import BAY, GOOD, MAY, NOVEMBER, batch, fed, part, tipped

MEMBERS = drawn(1, 60)

FED = tuple(fed(range(0, 90, 7), times=0.08))
TIPPED_L = 13 * 0.08 * 1500
STEADY = tuple(Warmth(day, 30.0 + day % 9) for day in range(20, 118, 7))


@pytest.fixture(autouse=True, scope="module")
def a_shorter_look_ahead() -> Iterator[None]:
    """Long enough for all that is asked here, and quicker."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlook, "AHEAD_DAYS", 300)
        yield


def told(events: Sequence[Event], record: Record, today: int = 120, bay: Bay = BAY, **more: Any) -> Forecast:
    ground = Ground([bay], [1.2], events, more.get("begins", MAY), today)
    return foresee(ground, {0: record}, MEMBERS, UK_LOWLAND, more.get("learnt", Learning()))[0]


@cache
def plain() -> Forecast:
    return told(FED, Record(TIPPED_L))


def test_ranges_lie_round_their_middles_and_bands_are_as_wide_as_the_model_is_wrong() -> None:
    said = plain()
    assert 0 < said.bags.low < said.bags.middle < said.bags.high
    assert 0 < said.days.low < said.days.middle < said.days.high
    for band, least in ((said.temperature, 2 * 1.28 * 6), (said.fill, 0.0)):
        assert len(band.low) == len(band.middle) == len(band.high)
        for low, middle, high in zip(band.low, band.middle, band.high, strict=True):
            assert low < middle < high and high - low > least * 0.99
    assert (
        min(high / low for low, high in zip(said.fill.low, said.fill.high, strict=True))
        > np.exp(2 * 1.28 * 0.25) * 0.99
    )
    assert said.heats
    assert (said.ready.first.year, said.ready.first.month) >= (2027, 8)


def test_on_the_day_it_is_tipped_the_balance_is_the_blend() -> None:
    said = told(batch(), Record(1500), today=0)
    assert said.balance.volume_l == pytest.approx(1200)
    assert said.balance.gone == pytest.approx(0, abs=1e-9)


def test_readings_narrow_and_fills_move_the_bags() -> None:
    low, high = (
        told(FED, Record(TIPPED_L, fills=(Fill(60, 0.30 * share), Fill(118, 0.40 * share)))) for share in (0.7, 1.4)
    )
    assert low.bags.middle < high.bags.middle
    for said in (low, high):
        assert said.bags.high / said.bags.low < plain().bags.high / plain().bags.low or Doubt.SURPRISE in said.why_wide
    assert Doubt.NO_READING in plain().why_wide and Doubt.NO_READING not in low.why_wide


def test_a_stuck_probe_a_typo_and_silence_change_nothing_but_what_is_said() -> None:
    bad = [Warmth(day, 20.0, probe="old") for day in range(20, 118, 7)] + [Warmth(60, 400.0), Warmth(-30, 50.0)]
    said = told(FED, Record(TIPPED_L, warmths=bad, fills=[Fill(80, 5.0)]))
    assert said.bags == plain().bags and said.temperature == plain().temperature
    assert {one.why for one in said.set_aside} == {Why.STUCK, Why.IMPOSSIBLE, Why.TOO_FULL, Why.NOT_YET, Why.SILENCE}
    assert Doubt.SET_ASIDE in said.why_wide and Doubt.SILENCE in said.why_wide
    assert Aside(60, Why.IMPOSSIBLE, 400.0) in said.set_aside
    assert Doubt.SET_ASIDE not in plain().why_wide


def test_late_readings_count_as_if_they_had_come_in_time() -> None:
    in_time, late = (told(FED, Record(TIPPED_L, warmths=order)) for order in (STEADY, STEADY[::-1]))
    assert in_time == late
    assert not believe(STEADY, (), 0, 120).aside


def test_five_equal_readings_within_a_week_are_no_stuck_probe() -> None:
    assert not believe([Warmth(day, 20.0) for day in range(5)], (), 0, 10).aside


def test_an_empty_bay_forecasts_nothing() -> None:
    ground = Ground([BAY], [1.2], [], MAY, 10)
    assert foresee(ground, {0: Record(0.0)}, MEMBERS, UK_LOWLAND, Learning()) == {}
    emptied = Ground([BAY], [1.2], [*FED, Taking(100, 0)], MAY, 120)
    assert foresee(emptied, {0: Record(0.0)}, MEMBERS, UK_LOWLAND, Learning()) == {}


@pytest.mark.parametrize(("mix", "heats"), [({"cardboard": 1500}, False), (GOOD, True)])
def test_only_cardboard_is_said_not_to_heat(mix: Mapping[str, float], heats: bool) -> None:
    assert told(tipped(mix), Record(1500), today=5).heats is heats


def test_turned_now_is_sooner_than_next_month_and_both_than_never() -> None:
    what = plain().what_if
    assert what[When.NEVER].weeks_sooner == 0
    assert what[When.NOW].weeks_sooner > 0
    assert what[When.NEXT_MONTH].weeks_sooner > 0
    assert all(one.bags > 0 for one in what.values())


def test_not_yet_moves_the_range_beyond_that_day() -> None:
    said = told(FED, Record(TIPPED_L, not_ready=240), today=245)
    assert said.days.low > 240 - 84
    assert said.days.low > plain().days.low
    assert said.bags.middle < told(FED, Record(TIPPED_L), today=245).bags.middle, "a slow heap sinks for longer"


def test_a_look_says_when() -> None:
    most, none = (told(FED, Record(TIPPED_L, look=word)) for word in ("most", "none"))
    assert none.days.middle < most.days.middle
    assert none.bags == most.bags


def test_an_opening_is_named_and_wider() -> None:
    opening = Opening(0, 0, (part("grass-fresh", 400), part("leaves-mixed", 300)), 60.0)
    said = told([opening], Record(700), today=30)
    known = told(tipped({"grass-fresh": 400, "leaves-mixed": 300}), Record(700), today=30)
    assert Doubt.GUESSED in said.why_wide and Doubt.GUESSED not in known.why_wide


def test_what_is_worth_measuring() -> None:
    worth = {one.measure: one for one in plain().worth}
    assert set(worth) == set(Measure)
    assert worth[Measure.FILL].of_bags == max(one.of_bags for one in worth.values()) > 0.05
    assert worth[Measure.LOOK].of_date == max(one.of_date for one in worth.values()) > 0.05
    marked = told(FED, Record(TIPPED_L, fills=(Fill(60, 0.35), Fill(118, 0.42))))
    assert {one.measure: one for one in marked.worth}[Measure.FILL].of_bags < worth[Measure.FILL].of_bags


def test_a_site_with_a_move_is_one_run_and_the_new_heap_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    calls = []
    monkeypatch.setattr(forecast, "run", lambda *a, real=forecast.run, **k: calls.append(1) or real(*a, **k))
    ground = Ground([BAY, BAY], [1.2, 1.2], [*FED, Move(100, 0, 1)], MAY, 120)
    found = foresee(ground, {0: Record(0.0), 1: Record(TIPPED_L)}, MEMBERS, UK_LOWLAND, Learning())
    assert set(found) == {1}
    assert len(calls) == 1
    assert found[1].balance.dry_kg > 50


def test_a_leaf_bin_takes_its_time() -> None:
    leaf = Bay(1, 1, covered=False, leaf=True)
    said = told(tipped({"leaves-mixed": 1500}), Record(1500), today=60, bay=leaf, begins=NOVEMBER)
    assert 300 < said.days.middle < 1000
    assert not said.heats


def test_the_same_question_has_the_same_answer() -> None:
    assert told(FED, Record(TIPPED_L)) == plain()
    assert told([*FED, Turn(119, 0)], Record(TIPPED_L)) != plain()


def test_ten_poor_harvests_are_learnt_and_say_nothing_of_the_date_unless_somebody_did() -> None:
    record = Record(TIPPED_L)
    heap = outlook.outlooks(Ground([BAY], [1.2], FED, MAY, 120), {0: record}, MEMBERS, UK_LOWLAND)[0]
    before, learnt = Learning(), Learning()
    usual = outlook.bags_ahead(heap, before)[0].at(0.5)
    for _ in range(10):
        learnt = learnt.after(heap, float(np.exp(usual)) / 2, None)
    assert learnt.harvests == 10
    taught = outlook.bags_ahead(heap, learnt)[0].at(0.5)
    assert taught == pytest.approx(usual + np.log(0.5), abs=0.08)  # the prior keeps a little
    assert learnt.days.freedom == before.days.freedom and learnt.with_look.freedom == before.with_look.freedom
    dated = before.after(heap, 10.0, 60.0, "some")
    assert outlook.days_ahead(heap, dated, record).at(0.5) < outlook.days_ahead(heap, before, record).at(0.5)
    looked = Record(TIPPED_L, look="some")
    assert outlook.days_ahead(heap, dated, looked).at(0.5) < outlook.days_ahead(heap, before, looked).at(0.5)


def test_a_heap_that_is_forked_into_an_empty_bay_waits_on_and_one_that_meets_another_begins_anew() -> None:
    ground = Ground([BAY] * 3, [1.2] * 3, [*batch(), *tipped(GOOD, heap=1), Move(60, 0, 2)], MAY, 90)
    alone = outlook.outlooks(ground, {2: Record(1500)}, MEMBERS, UK_LOWLAND)[2]
    both = Ground(ground.bays, ground.bay_m3, [*ground.events, Move(80, 1, 2)], MAY, 90)
    met = outlook.outlooks(both, {2: Record(3000)}, MEMBERS, UK_LOWLAND)[2]
    assert (alone.closed, met.closed) == (0, 80)


def test_a_harvest_without_a_look_teaches_the_date_of_looked_at_heaps_but_less() -> None:
    looked = Record(TIPPED_L, look="some")
    heap = outlook.outlooks(Ground([BAY], [1.2], FED, MAY, 120), {0: looked}, MEMBERS, UK_LOWLAND)[0]
    said = [
        outlook.days_ahead(heap, learnt, looked).at(0.5)
        for learnt in (Learning(), Learning().after(heap, 10.0, 40.0), Learning().after(heap, 10.0, 40.0, "some"))
    ]
    assert said[2] < said[1] < said[0]
