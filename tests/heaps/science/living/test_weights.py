"""Which material is worth weighing, by a year's kilograms and by how badly its weight is known."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.science.feedstocks import FEEDSTOCKS, Feedstock
from heaps.science.living.weights import (
    BUCKET_SPREAD,
    FULLNESS,
    LOW_TO_HIGH,
    spread_between_places,
    weigh_next,
    weight_spread,
)
from heaps.science.materials import DENSITY, Decision, with_own

TAKEN = sorted(key for key, stuff in FEEDSTOCKS.items() if stuff.bulk_density_kg_m3)
SUMS = st.dictionaries(st.sampled_from(TAKEN), st.floats(1, 5_000), min_size=1, max_size=8)


def estimated(kg: dict[str, float]) -> dict[Feedstock, float]:
    return {FEEDSTOCKS[key]: one for key, one in kg.items()}


def test_low_and_high_of_the_table_count_where_they_are_wider_than_its_evidence() -> None:
    peelings, seaweed = FEEDSTOCKS["peelings"], FEEDSTOCKS["seaweed"]
    assert spread_between_places(peelings) == pytest.approx(1.3863 / LOW_TO_HIGH, abs=1e-4)  # 235 to 940 kg: ln 4
    assert spread_between_places(peelings) > weight_spread(peelings)
    assert spread_between_places(seaweed) >= weight_spread(seaweed) == 0.30


def test_a_weighed_material_is_known() -> None:
    own = with_own([Decision("peelings", DENSITY, 380)])["peelings"]
    assert spread_between_places(own) == 0.05


def test_ten_buckets_of_the_material_that_is_most_of_it_and_badly_known_halve_the_doubt() -> None:
    first, *rest = weigh_next(estimated({"peelings": 1_000, "coffee": 100, "hay": 20}))
    assert first.feedstock == "peelings"
    assert first.doubt_after_kg < first.doubt_kg / 2
    assert {one.doubt_kg for one in rest} == {first.doubt_kg}


def test_much_of_what_is_known_well_can_matter_more_than_little_of_what_is_not() -> None:
    assert weigh_next(estimated({"grass-fresh": 2_000, "seaweed": 20}))[0].feedstock == "grass-fresh"


def test_by_hand_for_one_material() -> None:
    (one,) = weigh_next(estimated({"seaweed": 100}))
    spread = spread_between_places(FEEDSTOCKS["seaweed"])
    assert one.doubt_kg == pytest.approx(100 * (spread**2 + FULLNESS**2) ** 0.5)
    assert one.doubt_after_kg == pytest.approx(100 * BUCKET_SPREAD / 10**0.5)


@given(SUMS)
def test_weighing_takes_doubt_away_and_the_first_takes_most(kg: dict[str, float]) -> None:
    found = weigh_next(estimated(kg))
    assert {one.feedstock for one in found} == set(kg)
    assert all(0 < one.doubt_after_kg < one.doubt_kg for one in found)
    assert found[0].doubt_after_kg == min(one.doubt_after_kg for one in found)


@given(SUMS, st.floats(0.1, 100))
def test_twice_the_kilograms_are_twice_the_doubt(kg: dict[str, float], times: float) -> None:
    once, more = (weigh_next(estimated({key: one * by for key, one in kg.items()})) for by in (1, times))
    assert [one.doubt_kg * times for one in once] == pytest.approx([one.doubt_kg for one in more])


def test_nothing_estimated_is_nothing_to_weigh() -> None:
    assert weigh_next({}) == ()
    never = replace(FEEDSTOCKS["peelings"], key="own-1", bulk_density_kg_m3=None)
    assert weight_spread(never) == spread_between_places(never) == 0.0
