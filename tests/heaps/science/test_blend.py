"""The sums of a mix: shared vectors, free-air-space regressions, and what must hold for any mix."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from heaps.science.blend import Mix, Part, blend, free_air_space
from heaps.science.feedstocks import FEEDSTOCKS, Value

VECTORS = json.loads((Path(__file__).parents[2] / "vectors" / "blend.json").read_text(encoding="utf-8"))
GOES_IN = [one for one in FEEDSTOCKS.values() if one.acceptance != "never"]

kilograms = st.floats(0.01, 5_000)
parts = st.builds(Part, st.sampled_from(GOES_IN), kilograms, st.floats(0.01, 20_000))
mixes = st.lists(parts, min_size=1, max_size=8)


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_shared_vector(case: dict[str, Any]) -> None:
    given_parts = [Part(FEEDSTOCKS[one["feedstock"]], one["wet_kg"], one["volume_l"]) for one in case["given"]["parts"]]
    mix = blend(given_parts, case["given"]["added_water_kg"])
    for name, expected in case["expect"].items():
        wanted = expected if expected is None else pytest.approx(expected, rel=VECTORS["relative_tolerance"])
        assert getattr(mix, name) == wanted, name


@pytest.mark.parametrize(
    ("bulk_density", "moisture", "om", "expected"),
    [
        (300, 0.50, 0.90, 0.759625),
        (450, 0.60, 0.80, 0.6256),
        (600, 0.60, 0.80, 0.5008),
        (750, 0.65, 0.75, 0.36320313),
        (900, 0.70, 0.75, 0.2164375),
    ],
)
def test_free_air_space_stays_what_it_was(bulk_density: float, moisture: float, om: float, expected: float) -> None:
    """Regressions only: no published answer of the equation (Agnew & Leonard 2003) was at hand."""
    assert free_air_space(bulk_density, moisture, om) == pytest.approx(expected, abs=5e-9)


def test_free_air_space_is_never_less_than_none() -> None:
    assert free_air_space(1_500, 0.8, 0.9) == 0.0


def test_adding_up_in_steps_is_adding_up_at_once() -> None:
    grass = Part(FEEDSTOCKS["grass-fresh"], 8.0, 40.0)
    straw = Part(FEEDSTOCKS["straw-wheat"], 4.0, 40.0)
    assert blend([grass]) + blend([straw], 2.0) == blend([grass, straw], 2.0)


def test_what_never_goes_in_adds_nothing() -> None:
    assert blend([Part(FEEDSTOCKS["nappies"], 5.0, 40.0), Part(FEEDSTOCKS["cooked-food"], 5.0, 10.0)]) == Mix()


def test_share_of_is_by_volume() -> None:
    mix = blend([Part(FEEDSTOCKS["grass-fresh"], 8.0, 40.0), Part(FEEDSTOCKS["cardboard"], 8.0, 120.0)])
    assert mix.share_of("grass") == pytest.approx(0.25)
    assert mix.share_of("grass", "cardboard") == pytest.approx(1.0)
    assert Mix().share_of("grass") == 0.0


@given(mixes, parts)
def test_a_material_of_lower_c_to_n_never_raises_it(loads: list[Part], more: Part) -> None:
    before, own = blend(loads).c_to_n, blend([more]).c_to_n
    assume(before is not None and own is not None and own <= before)
    after = blend([*loads, more]).c_to_n
    assert before is not None
    assert after is not None
    assert after <= before * (1 + 1e-12)


@given(mixes)
def test_c_to_n_lies_between_those_of_the_parts(loads: list[Part]) -> None:
    own = [ratio for ratio in (blend([part]).c_to_n for part in loads) if ratio is not None]
    ratio = blend(loads).c_to_n
    assert ratio is not None
    assert min(own) * (1 - 1e-12) <= ratio <= max(own) * (1 + 1e-12)


@given(mixes, st.floats(0, 5_000), st.floats(0, 5_000))
def test_water_never_lowers_moisture_and_never_touches_c_to_n(loads: list[Part], less: float, more: float) -> None:
    less, more = sorted((less, more))
    drier, wetter = blend(loads, less), blend(loads, more)
    assert drier.moisture_fraction is not None
    assert wetter.moisture_fraction is not None
    assert wetter.moisture_fraction >= drier.moisture_fraction - 1e-12
    assert wetter.c_to_n == drier.c_to_n


@given(mixes, st.floats(0, 5_000))
def test_shares_stay_shares_and_masses_add_up(loads: list[Part], water: float) -> None:
    mix = blend(loads, water)
    assert mix.moisture_fraction is not None
    assert 0 <= mix.moisture_fraction < 1
    assert mix.free_air_space is None or 0 <= mix.free_air_space < 1
    assert mix.wet_kg == pytest.approx(sum(part.wet_kg for part in loads) + water)
    assert mix.dry_kg + mix.water_kg == pytest.approx(mix.wet_kg)
    assert mix.carbon_kg + mix.ash_kg <= mix.dry_kg


@given(mixes, st.randoms(use_true_random=False))
def test_order_of_loads_does_not_matter(loads: list[Part], shuffler: Any) -> None:
    shuffled = list(loads)
    shuffler.shuffle(shuffled)
    one, other = blend(loads), blend(shuffled)
    for name in ("wet_kg", "dry_kg", "carbon_kg", "nitrogen_kg", "ash_kg", "tipped_l", "c_to_n"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-9)


def test_a_feedstock_half_known_is_left_out_of_every_sum() -> None:
    grass = FEEDSTOCKS["grass-fresh"]
    unknown = replace(grass, nitrogen_fraction_dry=None)
    assert blend([Part(grass, 1.0, 5.0), Part(unknown, 1.0, 5.0)]) == blend([Part(grass, 1.0, 5.0)])
    known = replace(grass, nitrogen_fraction_dry=Value(0, 0, 0, "mem-L", "from memory (low)"))
    assert blend([Part(known, 1.0, 5.0)]).c_to_n is None
