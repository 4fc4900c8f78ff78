"""The material table is whole, its figures are plausible, and each can show where it comes from."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.science.feedstocks import (
    ASH_FRACTION_DRY,
    FEEDSTOCKS,
    NOT_PLAIN_PLANT,
    SOURCES,
    Feedstock,
    Value,
    carbon_warning,
    cited,
    wet_g,
)
from heaps.science.units import KG_M3_PER_LB_YD3

GOES_IN = [one for one in FEEDSTOCKS.values() if one.acceptance != "never"]


def values(stuff: Feedstock) -> list[Value]:
    every = (
        stuff.moisture_fraction,
        stuff.nitrogen_fraction_dry,
        stuff.c_to_n,
        stuff.bulk_density_kg_m3,
        stuff.lignin_fraction_vs,
    )
    return [value for value in every if value]


@pytest.mark.parametrize("key", FEEDSTOCKS)
def test_values_are_in_order_and_name_source_and_evidence(key: str) -> None:
    for value in values(FEEDSTOCKS[key]):
        assert 0 <= value.low <= value.typical <= value.high
        assert value.source
        assert re.fullmatch(r"read( in part)?|from memory \((high|medium|low)\)", value.evidence)


@pytest.mark.parametrize("key", FEEDSTOCKS)
def test_fractions_are_fractions(key: str) -> None:
    stuff = FEEDSTOCKS[key]
    for value in (stuff.moisture_fraction, stuff.nitrogen_fraction_dry, stuff.lignin_fraction_vs):
        assert value is None or value.high < 1


@pytest.mark.parametrize("stuff", GOES_IN, ids=lambda one: one.key)
def test_what_may_go_in_can_be_reckoned(stuff: Feedstock) -> None:
    assert stuff.moisture_fraction
    assert stuff.nitrogen_fraction_dry
    assert stuff.density_kg_m3
    assert stuff.ash_fraction_dry is not None
    assert stuff.c_to_n or stuff.key == "wood-ash"


@pytest.mark.parametrize("key", FEEDSTOCKS)
def test_gate_words_are_complete(key: str) -> None:
    stuff = FEEDSTOCKS[key]
    assert stuff.group in ("green", "brown", "structural", "mineral", "refused")
    assert stuff.acceptance in ("yes", "with care", "treat first", "never")
    assert (stuff.group == "refused") == (stuff.acceptance == "never")
    assert len(stuff.short) <= 24
    assert len(stuff.reason) > 10
    assert stuff.instead or stuff.acceptance in ("yes", "with care")
    assert cited(stuff.acceptance_source)


def test_whole_densities_lose_nothing() -> None:
    densities = [one.bulk_density_kg_m3 for one in FEEDSTOCKS.values() if one.bulk_density_kg_m3]
    assert all(density.typical == int(density.typical) for density in densities)


def test_every_ash_class_is_used_and_every_short_name_is_its_own() -> None:
    assert {one.ash_class for one in GOES_IN} == set(ASH_FRACTION_DRY)
    assert len({one.short for one in FEEDSTOCKS.values()}) == len(FEEDSTOCKS)


def test_no_plant_in_the_table_holds_an_impossible_share_of_carbon() -> None:
    for stuff in GOES_IN:
        if stuff.nitrogen_fraction_dry and stuff.c_to_n:
            nitrogen, c_to_n = stuff.nitrogen_fraction_dry.typical, stuff.c_to_n.typical
            assert carbon_warning(nitrogen, c_to_n, stuff.group, stuff.key) is None, stuff.key


@pytest.mark.parametrize(
    ("nitrogen_fraction", "c_to_n", "why"),
    [
        (0.0024, 442, "sawdust averages of NRAES-54: 106 % carbon"),
        (0.007, 772, "telephone books of NRAES-54: 540 % carbon"),
        (0.01, 20, "20 % carbon is no plant"),
    ],
)
def test_impossible_carbon_gives_a_warning(nitrogen_fraction: float, c_to_n: float, why: str) -> None:
    warning = carbon_warning(nitrogen_fraction, c_to_n, "brown")
    assert warning, why
    assert f"{nitrogen_fraction * c_to_n * 100:.0f} % carbon" in warning


def test_minerals_and_named_exceptions_are_exempt() -> None:
    assert carbon_warning(0.004, 12, "mineral", "soil") is None
    assert all(carbon_warning(0.17, 0.8, "green", key) is None for key in NOT_PLAIN_PLANT)
    assert carbon_warning(0.17, 0.8, "green", "grass-fresh")


def test_pounds_per_cubic_yard_printed_in_the_table_match_the_kilograms_beside_them() -> None:
    found = [
        (float(pounds), float(kilograms))
        for stuff in FEEDSTOCKS.values()
        if stuff.bulk_density_kg_m3
        for pounds, kilograms in re.findall(
            r"(?<![-\d.])(\d+) lb/yd3 = (\d+)(?![-\d])", stuff.bulk_density_kg_m3.source
        )
    ]
    assert len(found) >= 10
    for pounds, kilograms in found:
        assert pounds * KG_M3_PER_LB_YD3 == pytest.approx(kilograms, abs=1)


@pytest.mark.parametrize(
    ("key", "volume_ml", "grams"),
    [("peelings", 5_000, 2_125), ("cardboard", 40_000, 2_520), ("cardboard", 500, 32), ("grass-fresh", 0, 0)],
)
def test_wet_g_rounds_half_up_in_whole_numbers(key: str, volume_ml: int, grams: int) -> None:
    assert wet_g(key, volume_ml) == grams  # 500 ml of cardboard: 31.5 g


@given(st.sampled_from([one.key for one in GOES_IN]), st.integers(0, 10**9))
def test_wet_g_is_within_half_a_gram_of_the_exact_weight(key: str, volume_ml: int) -> None:
    density = FEEDSTOCKS[key].density_kg_m3
    assert density
    assert abs(2 * (1000 * wet_g(key, volume_ml) - volume_ml * density)) <= 1000


def test_wet_g_says_why_there_is_no_weight() -> None:
    with pytest.raises(ValueError, match="never taken"):
        wet_g("nappies", 1_000)
    with pytest.raises(KeyError):
        wet_g("moon-dust", 1_000)


def test_a_value_shows_its_full_sources() -> None:
    moisture = FEEDSTOCKS["grass-fresh"].moisture_fraction
    assert moisture
    assert [source.id for source in cited(moisture.source)] == ["TK31", "COR-M", "NRAES54-A1", "mem-M"]
    assert "Composting in the Classroom" in cited(moisture.source)[0].citation


def test_every_value_leads_to_at_least_one_known_source() -> None:
    lost = [(one.key, value.source) for one in FEEDSTOCKS.values() for value in values(one) if not cited(value.source)]
    assert not lost
    assert len(SOURCES) > 50


def test_no_key_of_an_earlier_release_is_gone() -> None:
    """Ledgers hold these keys: a feedstock may become "never", but its row stays."""
    kept = (Path(__file__).parents[2] / "vectors" / "feedstock_keys_0.1.txt").read_text().split()
    assert set(kept) <= FEEDSTOCKS.keys()
    assert len(kept) == 89
