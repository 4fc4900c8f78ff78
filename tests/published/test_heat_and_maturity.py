"""Published time-temperature rules and maturity classes: at each bound, and just beside it.

`heat_and_maturity.csv` names each source and how it is known.
"""

import csv
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from heaps.science.heat_rules import HEAT_RULES, HeatRule, Kind
from heaps.science.sanitation import Outcome, Reading, Showing, showings
from heaps.science.scales import (
    CCQC_AMMONIUM,
    CCQC_BREATH,
    DEWAR,
    END_C_TO_N,
    EU_UPTAKE,
    GEL_JAR,
    GERMINATION,
    PAS100_BREATH,
    SCALES,
    Scale,
)

ROWS = {
    row["id"]: row
    for row in csv.DictReader(
        Path(__file__).with_name("heat_and_maturity.csv").read_text(encoding="utf-8").splitlines()
    )
}
BEGIN = datetime(2027, 5, 3, 8, tzinfo=UTC)
RULES = {rule.key: rule for rule in HEAT_RULES}
#: Which rules and studies a row of the table stands for.
OF_ROW = {
    "S1": ("us further reduction, windrow", "us further reduction, vessel or aerated"),
    "S2": ("us significant reduction",),
    "S3": ("us organic, windrow", "us organic, vessel or aerated"),
    "S4": ("uk catering waste, closed, 60 C", "uk catering waste, closed, 70 C", "uk catering waste, housed windrow"),
    "S5": ("uk pas 100 guideline",),
    "S6": ("german, open, 55 C", "german, open, 65 C", "german, enclosed, 60 C"),
    "S7": ("eu product, 70 C", "eu product, 65 C", "eu product, 60 C", "eu product, 55 C"),
    "S8": ("manitoba, windrow", "manitoba, vessel"),
    "S9": ("clubroot, 50 C in flasks", "clubroot, 60 C in flasks"),
    "S10": ("most plant diseases", "tobacco mosaic virus"),
    "S11": ("seed of 12 weeds", "seed of 4 of 6 weeds"),
}
OPEN = [rule for rule in HEAT_RULES if rule.open_bay]
TURNED = [rule for rule in OPEN if rule.turns]


def log(hours: float, temp_c: float, begin: datetime = BEGIN, place: str = "core") -> list[Reading]:
    """A reading every two hours and one at the very end."""
    steps = [*range(0, int(hours), 2), hours]
    return [Reading(begin + timedelta(hours=one), temp_c, place) for one in steps]


def turned(count: int, days: float) -> list[datetime]:
    """Turns spread over so many days, each an hour after a reading."""
    return [BEGIN + timedelta(days=days * (one + 1) / (count + 1), hours=0.5) for one in range(count)]


def shown(rule: HeatRule, readings: list[Reading], turns: list[datetime], c_to_n: float | None = 30) -> Showing:
    return next(one for one in showings(readings, turns, c_to_n) if one.rule is rule)


def enough_hours(rule: HeatRule) -> float:
    """Hours that a log must span: what the rule asks for, and what is not counted over each turn."""
    return rule.held.hours + 2 * rule.turns


@pytest.mark.parametrize("row", OF_ROW)
def test_every_row_is_carried_with_its_source_and_status(row: str) -> None:
    assert ROWS[row]["source"]
    assert {RULES[key].checked for key in OF_ROW[row]} == {ROWS[row]["status"]}


def test_nothing_is_carried_that_no_row_stands_for() -> None:
    assert {key for keys in OF_ROW.values() for key in keys} == set(RULES)
    assert set(ROWS) == {*OF_ROW, *(f"M{number}" for number in range(1, 7))}


def base_temp(rule: HeatRule) -> float:
    return rule.inside.temp_c + 1 if rule.inside else rule.held.temp_c + (0.1 if rule.held.strictly else 0)


@pytest.mark.parametrize("rule", OPEN, ids=lambda rule: rule.key)
def test_met_at_its_bound_and_not_beside_it(rule: HeatRule) -> None:
    hours, temp_c = enough_hours(rule), base_temp(rule)
    turns = turned(rule.turns, hours / 24)
    assert shown(rule, log(hours, temp_c), turns).outcome is Outcome.MET
    short = shown(rule, log(hours - 0.6, temp_c), turns)
    assert short.outcome is Outcome.MISSING
    assert 0 < short.places["core"].missing_hours < 2
    assert shown(rule, log(hours * 2, rule.held.temp_c - 0.1), turns).outcome is Outcome.MISSING


@pytest.mark.parametrize("rule", TURNED, ids=lambda rule: rule.key)
def test_a_turn_too_few_is_missing(rule: HeatRule) -> None:
    few = shown(rule, log(enough_hours(rule), rule.held.temp_c), turned(rule.turns - 1, 15))
    assert few.outcome is Outcome.MISSING and few.places["core"].missing_turns == 1


@pytest.mark.parametrize("rule", TURNED, ids=lambda rule: rule.key)
def test_turns_before_or_after_the_hot_period_do_not_count(rule: HeatRule) -> None:
    hours = enough_hours(rule)
    outside = [BEGIN - timedelta(days=2)] + [BEGIN + timedelta(hours=hours + one) for one in range(1, rule.turns)]
    assert shown(rule, log(hours, rule.held.temp_c), outside).places["core"].missing_turns == rule.turns


def test_s2_the_four_hours_are_above_55_not_at_it() -> None:
    rule = RULES["us significant reduction"]
    warm, five_days = log(5 * 24, 40), timedelta(days=5)
    for temp_c, hours, met in ((55.1, 4, True), (55.0, 4, False), (55.1, 3.9, False)):
        peak = [Reading(BEGIN + timedelta(hours=49 + one), temp_c, "core") for one in (0, hours)]
        without = [one for one in warm if not peak[0].at <= one.at <= peak[1].at]
        assert (shown(rule, [*without, *peak], []).outcome is Outcome.MET) is met, (temp_c, hours)
    late = log(4, 56, BEGIN + five_days + timedelta(days=3))
    assert shown(rule, [*warm, *late], []).outcome is Outcome.MISSING  # hot, but not within the five days


@pytest.mark.parametrize(("c_to_n", "met"), [(24.9, False), (25, True), (40, True), (40.1, False), (None, False)])
def test_s3_asks_for_the_mix_at_the_start(c_to_n: float | None, met: bool) -> None:
    rule = RULES["us organic, windrow"]
    assert (shown(rule, log(enough_hours(rule), 60), turned(5, 15), c_to_n).outcome is Outcome.MET) is met


@pytest.mark.parametrize(("temp_c", "met"), [(54.9, False), (55, True), (77, True), (77.1, False)])
def test_s3_has_an_upper_end(temp_c: float, met: bool) -> None:
    rule = RULES["us organic, windrow"]
    assert (shown(rule, log(enough_hours(rule), temp_c), turned(5, 15)).outcome is Outcome.MET) is met


@pytest.mark.parametrize("row", ["S4", "S5", "S9", "S10"])
def test_rules_of_closed_plants_and_disease_studies_are_never_met_in_an_open_bay(row: str) -> None:
    for key in OF_ROW[row]:
        hot = shown(RULES[key], log(60 * 24, 72), turned(9, 50))
        assert hot.outcome is Outcome.NOT_FOR_OPEN_BAY and hot.places == {}


def test_every_vessel_and_aerated_rule_stays_out_too() -> None:
    closed = [rule.key for rule in HEAT_RULES if not rule.open_bay]
    words = ("vessel", "closed", "enclosed", "housed", "flasks", "pas 100")
    assert all(any(word in rule.key for word in words) is False for rule in OPEN)
    assert all(any(word in key for word in words) or RULES[key].kind is Kind.DISEASE_STUDY for key in closed)


def test_s7_each_of_the_four_ways_is_one_by_itself() -> None:
    met = {one.rule.key for one in showings(log(5 * 24, 65), []) if one.outcome is Outcome.MET}
    assert "eu product, 65 C" in met
    assert not {"eu product, 70 C", "eu product, 60 C", "eu product, 55 C"} & met


CLASSES = [
    (DEWAR, [(0, "V"), (10, "V"), (10.1, "IV"), (20, "IV"), (20.1, "III"), (30, "III"), (30.1, "II"), (40, "II"),
             (40.1, "I")]),
    (PAS100_BREATH, [(16, "stable"), (16.1, "not stable")]),
    (EU_UPTAKE, [(25, "stable"), (25.1, "not stable")]),
    (CCQC_BREATH, [(1.99, "very stable"), (2, "stable"), (8, "stable"), (8.1, "unstable")]),
    (CCQC_AMMONIUM, [(0.49, "very mature"), (0.5, "mature"), (3, "mature"), (3.1, "immature")]),
    (GEL_JAR, [(1, "active"), (4, "active"), (5, "curing"), (6, "curing"), (7, "finished"), (8, "finished")]),
    (END_C_TO_N, [(10, "as finished"), (15, "as finished"), (25, "let other tests decide"),
                  (25.1, "too much carbon")]),
    (GERMINATION, [(79.9, "immature"), (80, "mature"), (89.9, "mature"), (90, "very mature"), (110, "very mature")]),
]  # fmt: skip


@pytest.mark.parametrize(("scale", "vectors"), CLASSES, ids=lambda one: one.key if isinstance(one, Scale) else "")
def test_a_class_at_and_beside_each_bound(scale: Scale, vectors: list[tuple[float, str]]) -> None:
    for figure, name in vectors:
        assert scale.class_of(figure) == name, figure


def test_every_scale_is_tried_and_known_as_its_row_says() -> None:
    assert [scale for scale, _ in CLASSES] == list(SCALES)
    rows = (
        ("M1", DEWAR), ("M2", PAS100_BREATH), ("M3", EU_UPTAKE), ("M4", CCQC_BREATH), ("M4", CCQC_AMMONIUM),
        ("M5", GEL_JAR), ("M6", END_C_TO_N),
    )  # fmt: skip
    for row, scale in rows:
        assert ROWS[row]["status"] == scale.checked, row
