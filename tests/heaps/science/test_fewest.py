"""The integer programme against every choice tried one by one, on random heaps and stocks."""

from random import Random

import pytest

from heaps.science.blend import Mix
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.fewest import Choice, Pile, added, fewest, largest
from heaps.science.recipe import cans
from heaps.science.targets import ACCEPTABLE, IDEAL, INSIDE, Targets, in_range
from tests.brute_force import Best, best
from tests.piles import pile

HEAPS = 500
MATERIALS = sorted(
    key for key, one in FEEDSTOCKS.items() if one.acceptance != "never" and one.density_kg_m3 and one.c_to_n
)

#: What keeps inside by a little more than asked must be found; what is out of range must not be.
SURELY, PERHAPS = INSIDE * 1.5, 0.0


def heap(random: Random) -> Mix:
    loads = [(pile(random.choice(MATERIALS), random.choice((10, 40, 80)), 1), random.randint(1, 4)) for _ in range(3)]
    return added(Mix(wet_kg=random.choice((0, 0, 10, 60))), loads)


def stock(random: Random) -> list[Pile]:
    keys = random.sample(MATERIALS, random.randint(2, 5))
    piles = [pile(key, random.choice((10, 40, 80, 90)), random.randint(0, 6)) for key in keys]
    return [*piles, cans(10, random.randint(0, 6))]


def targets(random: Random) -> Targets:
    return random.choice((IDEAL, ACCEPTABLE, Targets((22.0, 32.0), (0.45, 0.58), 0.35)))


def counted(choice: Choice, piles: list[Pile]) -> Best:
    kg = sum(one.one.wet_kg * choice.counts.get(one.key, 0) for one in piles)
    return Best(choice.containers, len(choice.counts), kg)


def test_500_random_heaps_never_take_more_than_the_best_of_all_choices() -> None:
    random = Random(6)
    solved = impossible = 0
    for number in range(HEAPS):
        mix, piles, aims = heap(random), stock(random), targets(random)
        choice, surely = fewest(mix, piles, aims), best(mix, piles, aims, SURELY)
        if choice is None:
            assert surely is None, number
            impossible += 1
            continue
        perhaps = best(mix, piles, aims, PERHAPS)
        assert perhaps is not None and in_range(choice.mix, aims), number
        ours = counted(choice, piles)
        assert perhaps.containers <= ours.containers, number
        if surely is not None:
            assert ours.containers <= surely.containers, number
            if surely == perhaps:
                assert (ours.containers, ours.materials) == (surely.containers, surely.materials), number
                assert ours.kg == pytest.approx(surely.kg, abs=0.01), number
        solved += bool(choice.counts)
    # Both must be common, or one half of the claim was never tried.
    assert solved > 120 and impossible > 120, (solved, impossible)


def test_what_is_left_out_by_the_next_choice_makes_it_another_one() -> None:
    mix = added(Mix(), [(pile("grass-fresh", 40, 1), 5), (pile("peelings", 40, 1), 3)])
    piles = [pile("cardboard", 80, 8), pile("straw-wheat", 80, 8), pile("leaves-mixed", 60, 12), cans(10, 3)]
    choices: list[Choice] = []
    while (choice := fewest(mix, piles, ACCEPTABLE, choices)) is not None:
        assert all(not set(one.counts) <= set(choice.counts) for one in choices)
        assert not choices or choice.containers >= choices[-1].containers
        choices.append(choice)
    assert len(choices) >= 3


def test_half_a_can_counts_half() -> None:
    mix = added(Mix(), [(pile("horse-manure-straw", 80, 1), 3), (pile("straw-wheat", 80, 1), 1)])
    wetter = fewest(mix, [cans(10, 10)], Targets((20, 60), ((mix.moisture_fraction or 0) + 0.02, 0.7)))
    assert wetter is not None
    assert wetter.containers == wetter.counts["water"] / 2


def test_the_largest_heap_fits_and_nothing_larger_does() -> None:
    piles = [pile("grass-fresh", 80, 6), pile("straw-wheat", 80, 6), pile("leaves-mixed", 80, 4), cans(10, 3)]
    choice = largest(piles, IDEAL, most_l=600)
    assert choice is not None and choice.mix.heap_l <= 600 + 1e-6 and in_range(choice.mix, IDEAL)
    larger = [
        mix.heap_l
        for grass in range(7) for straw in range(7) for leaves in range(5) for halves in range(7)
        if in_range(mix := added(Mix(), list(zip(piles, (grass, straw, leaves, halves), strict=True))), IDEAL)
        and mix.heap_l <= 600
    ]  # fmt: skip
    assert choice.mix.heap_l == pytest.approx(max(larger), abs=1.0)


def test_nothing_in_stock_mends_nothing() -> None:
    wet = added(Mix(), [(pile("peelings", 40, 1), 2)])
    assert fewest(wet, [], IDEAL) is None
    assert fewest(wet, [pile("cardboard", 80, 0)], IDEAL) is None
