"""What a temperature log shows: gaps, turns, several places, and what it can never show."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import heaps.science
from heaps.science.feedstocks import FEEDSTOCKS, SOURCES
from heaps.science.heat_rules import HEAT_RULES, ONE_PROBE, Held
from heaps.science.sanitation import (
    BACK_WITHIN,
    MOST_APART,
    Outcome,
    Reading,
    never_whatever_the_log,
    showings,
    spells,
    stretches,
)

BEGIN = datetime(2027, 5, 3, 8, tzinfo=UTC)
HOT = Held(55, 0)
FOURTEEN = next(rule for rule in HEAT_RULES if rule.key == "german, open, 55 C")


def at(days: float, temp_c: float, place: str = "core") -> Reading:
    return Reading(BEGIN + timedelta(days=days), temp_c, place)


def turn(days: float) -> datetime:
    return BEGIN + timedelta(days=days)


def hours(log: list[Reading], turns: list[datetime] | None = None) -> list[float]:
    return [one.hours for one in stretches(log, turns or [], HOT)]


def test_time_counts_between_two_hot_readings_and_not_beyond() -> None:
    assert hours([at(0, 60), at(1, 55)]) == [24]
    assert hours([at(0, 60)]) == [0]
    assert hours([at(0, 60), at(1, 54.9)]) == [0]
    assert hours([at(1, 60), at(0, 60)]) == [24]  # in whatever order they were sent


def test_a_cool_reading_ends_a_stretch() -> None:
    assert hours([at(0, 60), at(1, 60), at(2, 50), at(3, 60), at(4, 60)]) == [24, 24]


def test_a_gap_counts_nothing_and_ends_a_stretch() -> None:
    most = MOST_APART / timedelta(days=1)
    assert hours([at(0, 60), at(most, 60)]) == [36]
    assert hours([at(0, 60), at(most + 0.01, 60)]) == [0, 0]


def test_a_turn_is_no_break_if_the_heap_is_back_within_a_day_but_the_time_between_is_not_counted() -> None:
    back = BACK_WITHIN / timedelta(days=1)
    (through,) = stretches([at(0, 60), at(1, 60), at(1.1 + back, 58), at(2.5, 58)], [turn(1.1)], HOT)
    assert (through.turns, through.hours) == (1, pytest.approx(24 + (2.5 - 1.1 - back) * 24))
    late = stretches([at(0, 60), at(1, 60), at(1.11 + back, 58), at(2.5, 58)], [turn(1.1)], HOT)
    assert [one.turns for one in late] == [0, 0]


def test_a_cool_reading_in_the_day_after_a_turn_is_passed_over_and_no_later_one() -> None:
    turned = [turn(1.1)]
    assert len(stretches([at(0, 60), at(1, 60), at(1.3, 40), at(2, 58)], turned, HOT)) == 1
    assert len(stretches([at(0, 60), at(1, 60), at(2.2, 40), at(2.3, 58)], turned, HOT)) == 2
    assert len(stretches([at(0, 60), at(1, 60), at(1.3, 40), at(2, 58), at(2.5, 40), at(3, 58)], turned, HOT)) == 2


def test_a_turn_long_after_the_last_hot_reading_does_not_mend_a_gap() -> None:
    assert len(stretches([at(0, 60), at(3, 60)], [turn(2.9)], HOT)) == 2


def test_a_gap_in_the_log_keeps_a_rule_from_being_met() -> None:
    daily = [at(day, 58) for day in range(15)]
    assert outcome(daily) is Outcome.MET
    assert outcome(daily[:6] + daily[8:]) is Outcome.MISSING


def test_every_place_that_was_read_must_meet_it() -> None:
    core = [at(day, 58) for day in range(15)]
    edge = [at(day, 41, "edge") for day in range(15)]
    both = next(one for one in showings([*core, *edge], []) if one.rule is FOURTEEN)
    assert both.outcome is Outcome.MISSING
    assert both.places["core"].met and not both.places["edge"].met
    assert both.places["edge"].missing_hours == 14 * 24


def test_an_empty_log_meets_nothing() -> None:
    assert {one.outcome for one in showings([], [])} == {Outcome.MISSING, Outcome.NOT_FOR_OPEN_BAY}


def outcome(log: list[Reading]) -> Outcome:
    return next(one.outcome for one in showings(log, []) if one.rule is FOURTEEN)


@given(st.lists(st.tuples(st.floats(0, 60), st.floats(10, 80)), max_size=40), st.lists(st.floats(0, 60), max_size=5))
def test_no_log_holds_more_time_than_it_spans(points: list[tuple[float, float]], turned: list[float]) -> None:
    log, turns = [at(*one) for one in points], [turn(one) for one in turned]
    found = stretches(log, turns, HOT)
    for one in found:
        assert 0 <= one.hours <= (one.until - one.since) / timedelta(hours=1) + 1e-6
    assert sum(one.turns for one in found) <= len(turns)
    cooler = stretches(log, turns, Held(60, 0))
    assert sum(one.hours for one in cooler) <= sum(one.hours for one in found) + 1e-6


@given(st.lists(st.tuples(st.floats(0, 60), st.floats(10, 80)), max_size=40))
def test_a_closed_rule_is_never_met_whatever_the_log(points: list[tuple[float, float]]) -> None:
    for one in showings([at(*point) for point in points], []):
        assert one.rule.open_bay or one.outcome is Outcome.NOT_FOR_OPEN_BAY


def test_spells_tell_turn_by_turn_and_place_by_place_where_nobody_looked() -> None:
    log = [at(0, 60), at(1, 62), at(1, 40, "edge"), at(5, 58)]
    found = spells(log, [turn(2)], BEGIN + timedelta(days=6))
    rows = [(one.place, one.readings, one.highest_c, one.longest_gap_h, one.hours_at_55) for one in found]
    assert rows == [
        ("core", 2, 62, 24, 24), ("edge", 1, 40, 24, 0), ("core", 1, 58, 72, 0), ("edge", 0, None, 96, 0),
    ]  # fmt: skip
    assert spells([], [], BEGIN) == []


def test_what_never_goes_in_stays_never_however_hot_it_was() -> None:
    lying = [FEEDSTOCKS[key] for key in ("grass-fresh", "clubroot", "invasive-plants", "peelings", "blight")]
    assert [one.key for one in never_whatever_the_log(lying)] == ["clubroot", "invasive-plants", "blight"]


def test_one_probe_cannot_speak_for_a_heap() -> None:
    """Reckoned from the open log: 3 of 15 held 55 C for days, 7 never passed 30 C, 5 touched 54 to 55 C in passing."""
    long = [one.longest_h_at_55 for one in ONE_PROBE if one.longest_h_at_55 > 24]
    assert sorted(long) == [114, 174, 179]
    assert sum(one.highest_c <= 30 for one in ONE_PROBE) == 7
    in_passing = [one for one in ONE_PROBE if one.highest_c > 30 and one.longest_h_at_55 <= 24]
    assert len(in_passing) == 5 and all(54 < one.highest_c < 55.5 for one in in_passing)
    assert sum(one.blank_h for one in ONE_PROBE) == 2_240


def test_each_rule_names_a_source_and_how_it_is_known() -> None:
    assert all(rule.source in SOURCES and rule.checked for rule in HEAT_RULES)
    assert len({rule.key for rule in HEAT_RULES}) == len(HEAT_RULES)


def test_the_core_never_calls_a_heap_safe() -> None:
    folder = Path(heaps.science.__file__).parent
    files = [*folder.glob("*.py"), folder / "materials.csv"]  # the titles of sources are theirs
    said = [one.name for one in files if re.search(r"\bsafe(ly|ty)?\b", one.read_text("utf-8"), re.I)]
    assert len(files) > 15 and said == []
