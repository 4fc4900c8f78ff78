"""Recipes for a heap: what they bring it to, what they ask for, and when they say that they cannot."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heaps.science.advice import MOST_AT_ONCE, Code, Signs, need, own_kind
from heaps.science.blend import Mix
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.fewest import Choice, Pile, added
from heaps.science.recipe import (
    USUALLY_FOUND,
    WATER,
    Outcome,
    cans,
    recipe,
    still_best,
    too_heavy_for_one,
    usually_found,
)
from heaps.science.targets import (
    ACCEPTABLE,
    IDEAL,
    LEFT_ALONE,
    MOISTURE_OF_SQUEEZE,
    Targets,
    as_felt,
    in_range,
    surpluses,
)
from tests.piles import pile

GOES_IN = sorted(key for key, one in FEEDSTOCKS.items() if one.acceptance != "never" and one.density_kg_m3)
loads = st.builds(pile, st.sampled_from(GOES_IN), st.sampled_from([10.0, 40.0, 80.0]), st.integers(1, 6))
heaps = st.lists(loads, max_size=5).map(lambda piles: of(*piles))
stocks = st.lists(loads, max_size=4, unique_by=lambda one: one.key).map(lambda piles: [*piles, cans(10, 4)])


def of(*piles: Pile, water_kg: float = 0.0) -> Mix:
    return added(Mix(wet_kg=water_kg), [(one, one.count) for one in piles])


GRASS_HEAP = of(pile("grass-fresh", 40, 5), pile("peelings", 40, 2))
BARN = [pile("cardboard", 80, 6), pile("straw-wheat", 80, 4), pile("leaves-mixed", 60, 10), cans(10, 6)]


def test_an_empty_bay_asks_for_nothing() -> None:
    assert recipe(Mix(), BARN, usually_found(80, 10)).outcome is Outcome.EMPTY
    assert recipe(Mix(wet_kg=30), BARN).outcome is Outcome.EMPTY  # rain in an empty bay


def test_two_or_three_choices_best_first_each_of_other_materials() -> None:
    found = recipe(GRASS_HEAP, BARN)
    assert found.outcome is Outcome.STANDS_THERE and len(found.choices) >= 2
    aims = [(IDEAL, ACCEPTABLE, LEFT_ALONE).index(choice.targets) for choice in found.choices]
    assert aims == sorted(aims)
    for one, other in pairwise(found.choices):
        assert one.targets != other.targets or one.containers <= other.containers
        assert not set(one.counts) <= set(other.counts)
    assert all(in_range(choice.mix, choice.targets) for choice in found.choices)


def test_the_ideal_first_and_what_will_do_where_it_is_out_of_reach() -> None:
    """Moisture and C:N cannot both be hit with two materials (Cornell's example W05): then the acceptable will do."""
    two = [pile("leaves-mixed", 60, 20)]
    wet = of(pile("peelings", 40, 5))
    found = recipe(wet, two)
    assert found.outcome is Outcome.STANDS_THERE and found.choices[0].targets == ACCEPTABLE
    assert not in_range(found.choices[0].mix, IDEAL)


def test_what_is_missing_is_said_with_its_number() -> None:
    found = recipe(GRASS_HEAP, [pile("coffee", 10, 3)], usually_found(80, 10))
    assert found.outcome is Outcome.FETCH
    (choice,) = found.choices
    assert found.missing and set(found.missing) <= set(choice.counts)
    assert sum(choice.counts[key] for key in found.missing) >= 1
    assert in_range(choice.mix, choice.targets)


def test_what_stands_there_is_used_before_anything_is_fetched() -> None:
    nearly = [pile("cardboard", 80, 1), pile("straw-wheat", 80, 1)]
    with_barn = recipe(GRASS_HEAP, nearly, usually_found(80, 10))
    without = recipe(GRASS_HEAP, [], usually_found(80, 10))
    assert with_barn.outcome is without.outcome is Outcome.FETCH
    fetched = [sum(one.choices[0].counts[key] for key in one.missing) for one in (with_barn, without)]
    assert fetched[0] < fetched[1]


def test_a_mountain_of_wet_peelings_cannot_be_mended_in_one_day() -> None:
    assert recipe(of(pile("peelings", 1_000, 12)), BARN, usually_found(40, 10)).outcome is Outcome.CANNOT


@pytest.mark.parametrize(
    ("heap", "why"),
    [
        (of(pile("leaves-mixed", 80, 10)), "leaf mould wants no greens (RHS-LM)"),
        (of(pile("soil", 80, 4), pile("grass-fresh", 80, 2)), "earth does not compost"),
        (of(pile("compost", 80, 6)), "compost does not heat"),
    ],
)
def test_a_heap_of_another_kind_is_not_fed(heap: Mix, why: str) -> None:
    assert recipe(heap, BARN, usually_found(80, 10)).outcome is Outcome.OTHER_KIND, why


def test_targets_can_be_a_groups_own() -> None:
    rich = Targets((20.0, 30.0), (0.50, 0.70))
    found = recipe(GRASS_HEAP, BARN, aims=[rich])
    assert found.choices and all(in_range(choice.mix, rich) for choice in found.choices)
    assert min(choice.containers for choice in found.choices) < recipe(GRASS_HEAP, BARN).choices[0].containers


def test_what_the_hand_felt_decides_over_the_sums() -> None:
    balanced = of(pile("grass-fresh", 40, 4), pile("leaves-mixed", 40, 5), pile("cardboard", 40, 2), water_kg=10)
    assert recipe(balanced, BARN).outcome is Outcome.NOTHING
    soaked = recipe(as_felt(balanced, "runs"), BARN)
    parched = recipe(as_felt(balanced, "dust"), BARN)
    assert soaked.outcome is Outcome.STANDS_THERE
    assert all(WATER not in choice.counts for choice in soaked.choices)
    assert WATER in parched.choices[0].counts


@pytest.mark.parametrize("squeeze", MOISTURE_OF_SQUEEZE)
def test_felt_moisture_is_what_the_word_means(squeeze: str) -> None:
    least, most = MOISTURE_OF_SQUEEZE[squeeze]
    felt = as_felt(GRASS_HEAP, squeeze)
    assert felt.moisture_fraction is not None and least - 1e-9 <= felt.moisture_fraction <= most + 1e-9
    assert (felt.dry_kg, felt.carbon_kg) == (GRASS_HEAP.dry_kg, GRASS_HEAP.carbon_kg)


@given(heaps, st.sampled_from(sorted(MOISTURE_OF_SQUEEZE)))
def test_a_hand_that_says_dry_or_wet_is_never_answered_with_nothing(heap: Mix, squeeze: str) -> None:
    if heap.dry_kg <= 0 or own_kind(heap):
        return
    least, most = LEFT_ALONE.moisture
    felt = as_felt(heap, squeeze)
    right = squeeze in ("holds", "drops")
    assert (least <= (felt.moisture_fraction or 0.0) <= most) is right
    assert right or recipe(felt, []).outcome is not Outcome.NOTHING


@settings(max_examples=150)
@given(heaps, stocks)
def test_an_answer_applied_lands_in_range_and_ends_the_need(heap: Mix, stock: list[Pile]) -> None:
    found = recipe(heap, stock)
    for choice in found.choices:
        applied = added(heap, [(one, choice.counts.get(one.key, 0)) for one in stock])
        assert in_range(applied, choice.targets) and in_range(applied, LEFT_ALONE)
        assert all(choice.counts.get(one.key, 0) <= one.count for one in stock)
        assert recipe(applied, stock).outcome in (Outcome.NOTHING, Outcome.OTHER_KIND)
        says = need(applied, Signs(), "filling").code
        assert says in (Code.NOTHING, Code.LEAVES, Code.SOIL, Code.ROTTED) or own_kind(applied), says


@given(heaps, loads, st.integers(1, 5))
def test_a_richer_material_never_raises_c_to_n(heap: Mix, load: Pile, count: int) -> None:
    if not heap.c_to_n or not load.one.c_to_n or load.one.c_to_n > heap.c_to_n:
        return
    mixed = added(heap, [(load, count)]).c_to_n
    assert mixed is not None and load.one.c_to_n * (1 - 1e-9) <= mixed <= heap.c_to_n * (1 + 1e-9)


@given(heaps, st.floats(0, 500))
def test_water_never_lowers_moisture(heap: Mix, water_kg: float) -> None:
    before, after = heap.moisture_fraction, (heap + Mix(wet_kg=water_kg)).moisture_fraction
    assert before is None or (after is not None and after >= before - 1e-12)


@given(heaps, heaps)
def test_the_sums_of_the_ranges_are_linear(one: Mix, other: Mix) -> None:
    both = surpluses(one + other, IDEAL)
    apart = [sum(pair) for pair in zip(surpluses(one, IDEAL), surpluses(other, IDEAL), strict=True)]
    assert both == pytest.approx(apart, rel=1e-9, abs=1e-9 * (1 + one.wet_kg + other.wet_kg))


@given(heaps)
def test_in_range_is_what_the_ratios_say(heap: Mix) -> None:
    if heap.c_to_n is None or heap.moisture_fraction is None or heap.free_air_space is None:
        return
    figures = {
        "c_to_n": (heap.c_to_n, *IDEAL.c_to_n),
        "moisture": (heap.moisture_fraction, *IDEAL.moisture),
        "air": (heap.free_air_space, IDEAL.least_air, 1.0),
        "coffee": (heap.share_of("coffee"), 0.0, IDEAL.most_share["coffee"]),
        "grass": (heap.share_of("grass"), 0.0, IDEAL.most_share["grass"]),
    }
    clearly = 0.001
    inside = all(low * (1 + clearly) <= one <= high * (1 - clearly) for one, low, high in figures.values())
    outside = any(not low * (1 - clearly) <= one <= high * (1 + clearly) for one, low, high in figures.values())
    assert not inside or in_range(heap, IDEAL)
    assert not outside or not in_range(heap, IDEAL)


@pytest.mark.parametrize(("pressed_to", "inside"), [(1.0, True), (0.20, False)])
def test_a_heap_that_has_no_air_is_out_of_range(pressed_to: float, inside: bool) -> None:
    mix = of(pile("grass-fresh", 40, 4), pile("leaves-mixed", 40, 4), pile("cardboard", 40, 2))
    pressed = replace(mix, tipped_l=mix.tipped_l * pressed_to, class_l={})
    assert ((pressed.free_air_space or 0) >= IDEAL.least_air) is inside
    assert in_range(pressed, IDEAL) is inside


@settings(max_examples=60)
@given(heap=heaps, stock=stocks, data=st.data())
def test_a_smaller_stock_changes_no_recipe_whose_containers_are_still_there(
    heap: Mix, stock: list[Pile], data: st.DataObject
) -> None:
    found = usually_found(60, 10)[:3]
    kept = recipe(heap, stock, found)
    less = [replace(one, count=data.draw(st.integers(0, one.count))) for one in stock]
    stood, stands = ({one.key: one.count for one in piles} for piles in (stock, less))
    assert still_best(kept, stood, stood)
    assert not still_best(kept, stood, stood | {"straw-oat": 1})  # something came: there may be a better one
    if still_best(kept, stood, stands):
        anew = recipe(heap, [one for one in less if one.count], found)
        told = [[(one.containers, len(one.counts), one.targets) for one in each.choices] for each in (kept, anew)]
        assert (kept.outcome, told[0]) == (anew.outcome, told[1])


def test_what_is_too_heavy_for_one_is_weighed_from_the_table() -> None:
    """A barrow of 90 litres: about 25 kg of wet leaves, three times that of manure. One of straw is light."""
    piles = [pile("leaves-wet", 90, 3), pile("cattle-manure", 90, 2), pile("straw-wheat", 90, 2), cans(10, 2)]
    mix = of(*piles)
    choice = Choice({"leaves-wet": 3, "cattle-manure": 2, "straw-wheat": 2, WATER: 4}, 9, mix, IDEAL)
    heavy = too_heavy_for_one(choice, piles)
    assert set(heavy) == {"leaves-wet", "cattle-manure"}
    assert heavy["leaves-wet"] == pytest.approx(25, abs=2) and heavy["cattle-manure"] == pytest.approx(75, abs=10)
    assert too_heavy_for_one(replace(choice, counts={"straw-wheat": 1}), piles) == {}


def test_no_more_is_fetched_than_any_aim_asks_for() -> None:
    stock, found = [pile("coffee", 10, 3)], usually_found(80, 10)
    asked = [recipe(GRASS_HEAP, stock, found, aims=[targets]) for targets in (IDEAL, ACCEPTABLE, LEFT_ALONE)]
    fetched = [sum(one.choices[0].counts[key] for key in one.missing) for one in asked if one.choices]
    best = recipe(GRASS_HEAP, stock, found)
    assert len(set(fetched)) > 1
    assert sum(best.choices[0].counts[key] for key in best.missing) == min(fetched)


def test_what_could_be_fetched_is_known_and_bounded() -> None:
    found = usually_found(80, 10)
    assert set(USUALLY_FOUND) <= set(FEEDSTOCKS)
    assert len({one.key for one in found}) == len(USUALLY_FOUND) + 1
    assert all(one.count * one.containers == MOST_AT_ONCE for one in found)
