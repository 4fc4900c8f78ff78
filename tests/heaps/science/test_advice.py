"""The line of advice against what an experienced composter would say, and what must hold for any heap."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from heaps.science.advice import (
    MOST_AT_ONCE,
    Code,
    Need,
    Signs,
    need,
    still_counts,
    times_to_air,
    times_to_c_to_n,
    times_to_moisture,
)
from heaps.science.blend import blend
from heaps.science.feedstocks import FEEDSTOCKS, Feedstock
from tests.heaps.science.told_heaps import CARDBOARD, CONTAINER_L, HEAPS, SQUEEZES, STAGES, STRAW, Heap, tipped


@pytest.mark.parametrize("heap", HEAPS, ids=lambda heap: heap.name)
def test_says_what_an_experienced_composter_would(heap: Heap) -> None:
    mix = tipped(heap.litres, heap.water_kg) if heap.litres else None
    said = need(mix, heap.signs, heap.stage, CARDBOARD, CONTAINER_L)
    assert said.code is heap.says, heap.why
    if heap.containers is None:
        assert said.containers is None
    else:
        least, most = heap.containers
        assert said.containers is not None
        assert least <= said.containers <= most, heap.why


def test_every_code_is_said_of_some_heap() -> None:
    assert {heap.says for heap in HEAPS} == set(Code)


def test_a_great_lack_is_capped_and_says_that_it_is_a_start() -> None:
    said = need(tipped({"grass-fresh": 4_000}), Signs(), "filling", CARDBOARD, CONTAINER_L)
    assert said == Need(Code.BROWNS, MOST_AT_ONCE, more=True)


def test_without_a_usual_brown_no_number_is_invented() -> None:
    assert need(tipped({"grass-fresh": 400}), Signs(), "filling") == Need(Code.BROWNS)
    assert need(tipped({"grass-fresh": 400}), Signs(), "filling", CARDBOARD, 0) == Need(Code.BROWNS)


def test_a_brown_that_cannot_do_it_gives_no_number() -> None:
    manure = FEEDSTOCKS["horse-manure"]
    assert need(tipped({"grass-fresh": 400}), Signs(), "filling", manure, CONTAINER_L) == Need(Code.BROWNS)


def test_a_bay_with_only_water_in_it_is_empty() -> None:
    assert need(blend([], 50), Signs(), "filling", CARDBOARD, CONTAINER_L) == Need(Code.EMPTY)


def test_readings_grow_old_and_a_turn_ends_them() -> None:
    now = datetime(2026, 5, 20, 9, tzinfo=UTC)
    assert still_counts(now - timedelta(days=14), now, None)
    assert not still_counts(now - timedelta(days=15), now, None)
    assert still_counts(now - timedelta(days=2), now, now - timedelta(days=3))
    assert not still_counts(now - timedelta(days=3), now, now - timedelta(days=2))


def test_solvers_know_when_nothing_is_lacking_or_nothing_helps() -> None:
    grass, card = tipped({"grass-fresh": 100}), tipped({"cardboard": 40})
    assert times_to_c_to_n(card, grass, 30) == 0.0
    assert times_to_c_to_n(grass, grass, 30) is None
    assert times_to_moisture(card, grass, 0.6) == 0.0
    assert times_to_moisture(grass, grass, 0.6) is None
    assert times_to_air(card, grass, 0.3) == 0.0
    assert times_to_air(tipped({"horse-manure": 100}), tipped({"cattle-manure": 40}), 0.3) is None


GOES_IN = [one.key for one in FEEDSTOCKS.values() if one.acceptance != "never"]
loads = st.dictionaries(st.sampled_from(GOES_IN), st.integers(1, 2_000), min_size=1, max_size=7)
signs = st.builds(
    Signs,
    st.none() | st.sampled_from(SQUEEZES),
    st.none() | st.floats(0, 200),
    st.none() | st.floats(-30, 120),
)


@given(loads, st.floats(0, 3_000), signs, st.sampled_from(STAGES), st.sampled_from([None, *FEEDSTOCKS.values()]))
def test_any_heap_gets_an_answer(
    litres: dict[str, int], water: float, seen: Signs, stage: str, brown: Feedstock | None
) -> None:
    said = need(tipped(litres, water), seen, stage, brown, CONTAINER_L)
    assert said.code is not Code.EMPTY
    assert said.containers is None or 1 <= said.containers <= MOST_AT_ONCE
    assert said.containers is None or said.code in (Code.BROWNS, Code.SOAKED_BROWNS)


greens = st.dictionaries(
    st.sampled_from([key for key in GOES_IN if FEEDSTOCKS[key].group == "green"]),
    st.integers(1, 100),
    min_size=1,
    max_size=4,
)


@given(greens, st.sampled_from([CARDBOARD, STRAW]))
def test_following_the_advice_ends_it(litres: dict[str, int], brown: Feedstock) -> None:
    """Whoever mixes in as many containers as asked is not asked for browns again, nor told it is too brown."""
    mix = tipped(litres)
    said = need(mix, Signs(), "filling", brown, CONTAINER_L)
    assume(said.code in (Code.BROWNS, Code.SOAKED_BROWNS) and not said.more and said.containers)
    assert said.containers
    mixed_in = tipped({brown.key: int(said.containers * CONTAINER_L)})
    after = need(mix + mixed_in, Signs(), "filling", brown, CONTAINER_L)
    assert after.code not in (Code.BROWNS, Code.SOAKED_BROWNS)


@given(loads)
def test_a_dry_squeeze_never_asks_for_dry_browns_and_a_wet_one_never_for_water(litres: dict[str, int]) -> None:
    mix = tipped(litres)
    assert need(mix, Signs(squeeze="dust"), "filling").code not in (Code.BROWNS, Code.COVER)
    assert need(mix, Signs(squeeze="runs"), "filling").code not in (
        Code.WATER,
        Code.GREENS_AND_WATER,
        Code.SOAKED_BROWNS,
    )


@given(
    st.dictionaries(
        st.sampled_from([key for key in GOES_IN if key.startswith("leaves")]), st.integers(1, 2_000), min_size=1
    )
)
def test_leaves_alone_are_never_told_to_take_greens_or_browns(litres: dict[str, int]) -> None:
    assert need(tipped(litres), Signs(), "filling").code in (Code.LEAVES, Code.WATER)
