"""What a load does to a heap: shared vectors, and what must hold for any heap and load."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.science.advice import RICH_C_TO_N, WET_MOISTURE
from heaps.science.blend import Mix, Part, blend
from heaps.science.effect import Does, Remedies, effect, trouble
from heaps.science.feedstocks import FEEDSTOCKS, wet_g
from heaps.science.targets import MOST_AT_ONCE

VECTORS = json.loads((Path(__file__).parents[2] / "vectors" / "effect.json").read_text(encoding="utf-8"))
GOES_IN = sorted(key for key, one in FEEDSTOCKS.items() if one.acceptance != "never")
LEAVES = {"feedstock": "leaves-mixed", "volume_ml": 80_000}

litres = st.integers(1, 2_000)
loads = st.tuples(st.sampled_from(GOES_IN), litres)


def part(one: dict[str, Any]) -> Part:
    """A load as a vector names it."""
    grams = one.get("weighed_g") or wet_g(one["feedstock"], one["volume_ml"])
    return Part(FEEDSTOCKS[one["feedstock"]], grams / 1000, one["volume_ml"] / 1000)


def one_of(given_: dict[str, Any] | None) -> Mix | None:
    return blend([part(given_)]) if given_ else None


def mix(lots: list[tuple[str, int]]) -> Mix:
    return blend(part({"feedstock": key, "volume_ml": 1000 * litres}) for key, litres in lots)


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_shared_vector(case: dict[str, Any]) -> None:
    told, expect = case["given"], case["expect"]
    heap = blend([part(one) for one in told["heap"]], told["added_water_kg"])
    load = blend([part(one) for one in told["load"]])
    for name, wanted in expect["whole"].items():
        assert getattr(heap + load, name) == pytest.approx(wanted, rel=VECTORS["relative_tolerance"]), name
    found = effect(heap, load, told["room_l"], Remedies(one_of(told["brown"]), one_of(told["green"])))
    assert (str(found.does), found.amount) == (expect["does"], expect["amount"])


def test_every_effect_stands_in_a_vector() -> None:
    assert {case["expect"]["does"] for case in VECTORS["cases"]} == {str(one) for one in Does}


@given(st.lists(loads, max_size=4), st.floats(0, 500), loads, loads, st.one_of(st.none(), st.floats(0, 3_000)))
def test_any_heap_and_load_get_an_answer_that_can_be_followed(
    heap: list[tuple[str, int]], water: float, load: tuple[str, int], unit: tuple[str, int], room: float | None
) -> None:
    before, brought, one = mix(heap) + Mix(wet_kg=water), mix([load]), mix([unit])
    found = effect(before, brought, room, Remedies(one, one))
    if found.amount is not None and found.does != Does.DRY:
        assert 1 <= found.amount <= MOST_AT_ONCE
    if found.does in (Does.RICH, Does.WET, Does.COVER, Does.DRY, Does.BROWN):
        assert trouble(before + brought) == found.does


def test_what_is_asked_for_brings_the_load_itself_into_range() -> None:
    for key in ("peelings", "grass-fresh", "coffee", "fruit"):
        load, leaves = mix([(key, 40)]), one_of(LEAVES)
        assert leaves
        found = effect(Mix(), load, None, Remedies(leaves))
        if found.amount:
            mended = load
            for _ in range(found.amount):
                mended += leaves
            assert (mended.c_to_n or 0) >= RICH_C_TO_N, key
            assert (mended.moisture_fraction or 1) <= WET_MOISTURE or (mended.c_to_n or 0) >= 40, key
