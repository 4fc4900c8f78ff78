"""The project's own sums against answers printed by others. `checks.csv` names each source and how it is known."""

import csv
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from heaps.science.advice import times_to_c_to_n, times_to_moisture
from heaps.science.blend import Mix, Part, blend
from heaps.science.feedstocks import FEEDSTOCKS, Feedstock, Value, biodegradable_fraction, carbon_warning, wet_g
from heaps.science.forecast import bags_in
from heaps.science.heat_rules import class_a_days
from heaps.science.units import CUBIC_YARD_L, density_kg_m3

CHECKS = {
    row["id"]: row
    for row in csv.DictReader(Path(__file__).with_name("checks.csv").read_text(encoding="utf-8").splitlines())
}


def exactly(number: float) -> Value:
    return Value(number, number, number, "the check", "the check")


def feedstock(moisture: float, nitrogen: float, c_to_n: float) -> Feedstock:
    return replace(
        FEEDSTOCKS["grass-fresh"],
        moisture_fraction=exactly(moisture),
        nitrogen_fraction_dry=exactly(nitrogen),
        c_to_n=exactly(c_to_n),
    )


def loads(*parts: tuple[float, Feedstock]) -> Mix:
    return blend(Part(stuff, wet_kg, 0.0) for wet_kg, stuff in parts)


# Cornell's pair: grass 77 % water, 2.4 % N, 45 % C; leaves 35 % water, 0.75 % N, 50 % C.
GRASS = feedstock(0.77, 0.024, 45 / 2.4)
LEAVES = feedstock(0.35, 0.0075, 50 / 0.75)
# Of the same nitrogen, dry: what makes a rule by parts come true.
LITTER_PART, STRAW_PART = feedstock(0.0, 0.01, 7.5), feedstock(0.0, 0.01, 130)
MANURE_PART, LEAF_PART = feedstock(0.0, 0.01, 20), feedstock(0.0, 0.01, 80)
# The same litter and straw with the nitrogen they hold (NRAES-54).
LITTER, STRAW = feedstock(0.0, 0.027, 7.5), feedstock(0.0, 0.004, 130)


def litter_share(litter: Feedstock, straw: Feedstock, goal: float) -> float:
    """The share of litter, by dry weight, in a blend with straw that has a C:N of `goal`."""
    straw_kg = times_to_c_to_n(loads((1, litter)), loads((1, straw)), goal)
    assert straw_kg is not None
    return 1 / (1 + straw_kg)


OURS: dict[str, Callable[[], float | None]] = {
    "W01": lambda: 100 * (Mix(wet_kg=10, dry_kg=2.3).moisture_fraction or 0),
    "W02": lambda: times_to_moisture(loads((10, GRASS)), loads((1, LEAVES)), 0.60),
    "W03": lambda: times_to_c_to_n(loads((10, GRASS)), loads((1, LEAVES)), 30),
    "W03a": lambda: loads((10, GRASS)).c_to_n,
    "W03b": lambda: loads((10, LEAVES)).c_to_n,
    "W04": lambda: loads((10, GRASS), (6.8, LEAVES)).c_to_n,
    "W05": lambda: 100 * (loads((10, GRASS), (3.5, LEAVES)).moisture_fraction or 0),
    "W07": lambda: density_kg_m3(10 - 1, 20) / 1000,
    "W08": lambda: wet_g("peelings", 5_000) / 1_000,
    "W08b": lambda: wet_g("peelings", 5_000) / 1_000_000,
    "W09b": lambda: bags_in(CUBIC_YARD_L, 40),
    "W12a": lambda: litter_share(LITTER_PART, STRAW_PART, 20),
    "W13": lambda: loads((4, MANURE_PART), (1, LEAF_PART)).c_to_n,
    "W14 food waste": lambda: biodegradable_fraction(0.004),
    "W14 yard waste": lambda: biodegradable_fraction(0.041),
    "W14 cardboard": lambda: biodegradable_fraction(0.129),
    "W14 newsprint": lambda: biodegradable_fraction(0.219),
    "W14 office paper": lambda: biodegradable_fraction(0.004),
    "W16": lambda: (class_a_days(70) or 0) * 24 * 60,
}


def tolerance(check: dict[str, str]) -> float:
    """Half of the last decimal printed, and a hair for halves rounded up."""
    return 0.5 * 10 ** -int(check["decimals"]) + 1e-9


@pytest.mark.parametrize("check", OURS)
def test_printed_answer_comes_out(check: str) -> None:
    row = CHECKS[check]
    assert OURS[check]() == pytest.approx(float(row["published"]), abs=tolerance(row), rel=0)


def test_every_carried_row_is_checked_and_names_its_source() -> None:
    assert set(CHECKS) == {*OURS, "W12"}
    assert all(row["source"] and row["evidence"] in ("read", "recalled") for row in CHECKS.values())


def test_w12_ratios_are_not_averaged() -> None:
    """The printed 0.90 for a C:N of 30 does not come out, neither truly nor by the shortcut it was made with."""
    printed = float(CHECKS["W12"]["published"])
    assert litter_share(LITTER, STRAW, 30) == pytest.approx(0.397, abs=0.001)
    assert litter_share(LITTER_PART, STRAW_PART, 30) == pytest.approx(0.816, abs=0.001)
    assert abs(litter_share(LITTER, STRAW, 30) - printed) > 0.4


def test_w12_the_printed_blend_is_far_richer_than_the_shortcut_says() -> None:
    true = loads((0.90, LITTER), (0.10, STRAW)).c_to_n
    shortcut = 0.90 * 7.5 + 0.10 * 130
    assert true == pytest.approx(9.48, abs=0.01)
    assert true < shortcut / 2


def test_nr1_sawdust_averages_from_different_samples_give_a_warning() -> None:
    """NRAES-54 table A.1, recalled: nitrogen 0.24 %, C:N 442, which would be 106 % carbon."""
    warning = carbon_warning(0.0024, 442, "brown", "sawdust")
    assert warning is not None
    assert "106 % carbon" in warning


def test_w14_wood_has_no_less_than_nothing_that_rots() -> None:
    """Zero at 29.6 % lignin; beyond it the equation would go below nothing."""
    assert biodegradable_fraction(0.2964) == pytest.approx(0.0, abs=1e-4)
    assert biodegradable_fraction(0.35) == 0.0


def test_w14_the_table_goes_by_it_and_oak_litter_does_not() -> None:
    """0.13 of oak leaves by the equation, which a litter study has lost by its first year (NutNet: 17 %)."""
    assert FEEDSTOCKS["cardboard"].biodegradable_fraction == pytest.approx(0.47, abs=0.005)
    oak = FEEDSTOCKS["leaves-oak"].biodegradable_fraction
    assert oak == pytest.approx(0.13, abs=0.005)
    assert oak < 0.17
    assert FEEDSTOCKS["soil"].biodegradable_fraction is None


def test_w16_is_held_to_where_it_speaks() -> None:
    """Computed, not printed: 2.63 days at 55 C, 12.6 hours at 60 C, 2.51 hours at 65 C; at 50 C or more; 20 minutes."""
    assert class_a_days(55) == pytest.approx(2.628, abs=0.001)
    assert (class_a_days(60) or 0) * 24 == pytest.approx(12.58, abs=0.01)
    assert (class_a_days(65) or 0) * 24 == pytest.approx(2.511, abs=0.001)
    assert class_a_days(50) is not None and class_a_days(49.9) is None
    assert (class_a_days(90) or 0) * 24 * 60 == pytest.approx(20)
