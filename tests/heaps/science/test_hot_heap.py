"""A hot heap in one go: in range, as large as the bay takes, in layers; and what keeps a heap cold."""

import pytest

from heaps.science.blend import Mix
from heaps.science.feedstocks import SOURCES
from heaps.science.fewest import added
from heaps.science.hot_heap import LEAST_HOT_L, MOST_LAYERS, THREE_WEEKS, Obstacle, hot_heap, obstacles
from heaps.science.recipe import cans, usually_found
from heaps.science.targets import IDEAL, in_range
from tests.piles import pile

BARN = [
    pile("grass-fresh", 80, 12),
    pile("straw-wheat", 80, 12),
    pile("leaves-mixed", 80, 8),
    pile("twigs-shredded", 80, 4),
    cans(10, 20),
]
AREA_M2, BAY_L = 1.44, 1440.0


def test_as_large_as_the_bay_and_in_range() -> None:
    heap = hot_heap(BARN, AREA_M2, BAY_L)
    assert heap.choice is not None and in_range(heap.choice.mix, IDEAL)
    assert LEAST_HOT_L <= heap.choice.mix.heap_l <= BAY_L + 1e-6
    assert heap.obstacles == () and heap.missing is None
    assert heap.least_l < heap.choice.mix.heap_l < heap.most_l


def test_layers_hold_no_more_than_there_is() -> None:
    heap = hot_heap(BARN, AREA_M2, BAY_L)
    assert heap.choice is not None and 3 <= heap.layers <= MOST_LAYERS
    containers = {one.key: one.containers for one in BARN}
    for layer in heap.each:
        all_of_it = heap.choice.counts[layer.key] * containers[layer.key]
        assert layer.containers * heap.layers <= all_of_it + 1e-9
        assert layer.containers * heap.layers >= all_of_it - heap.layers / 2


def test_only_cardboard_will_not_heat() -> None:
    heap = hot_heap([pile("cardboard", 80, 30), cans(10, 30)], AREA_M2, BAY_L, usually_found(80, 10))
    assert heap.choice is None
    assert heap.obstacles[:2] == (Obstacle.TOO_BROWN, Obstacle.TOO_DRY)
    assert heap.missing is not None
    assert {"grass-fresh, fetched", "horse-manure-straw, fetched"} & set(heap.missing.counts)
    assert heap.missing.mix.heap_l >= LEAST_HOT_L - 1e-3


def test_too_little_says_that_it_is_small_and_what_would_make_it_a_heap() -> None:
    little = [pile("grass-fresh", 80, 3), pile("straw-wheat", 80, 4), cans(10, 5)]
    heap = hot_heap(little, AREA_M2, BAY_L, usually_found(80, 10))
    assert heap.choice is not None and heap.choice.mix.heap_l < LEAST_HOT_L
    assert heap.obstacles == (Obstacle.SMALL,)
    assert heap.missing is not None and any(key.endswith("fetched") for key in heap.missing.counts)


def test_a_small_bay_is_no_reason_to_fetch() -> None:
    heap = hot_heap(BARN, 0.64, 500, usually_found(80, 10))
    assert heap.obstacles == (Obstacle.SMALL,) and heap.missing is None


def test_an_empty_barn_makes_nothing() -> None:
    heap = hot_heap([], AREA_M2, BAY_L)
    assert hot_heap([cans(10, 5)], AREA_M2, BAY_L).choice is None
    assert (heap.choice, heap.obstacles, heap.missing) == (None, (), None)


@pytest.mark.parametrize(
    ("loads", "water_kg", "expected"),
    [
        ([("grass-fresh", 8), ("straw-wheat", 8)], 0, ()),
        ([("cardboard", 10)], 0, (Obstacle.TOO_BROWN, Obstacle.TOO_DRY)),
        ([("cardboard", 10)], 90, (Obstacle.TOO_BROWN,)),
        ([("peelings", 10)], 0, (Obstacle.TOO_WET,)),
        ([("compost", 10)], 0, (Obstacle.ROTTED,)),
        ([], 20, ()),
    ],
)
def test_what_keeps_a_heap_cold(loads: list[tuple[str, int]], water_kg: float, expected: tuple[Obstacle, ...]) -> None:
    mix = added(Mix(wet_kg=water_kg), [(pile(key, 80, 1), count) for key, count in loads])
    assert obstacles(mix, 1_200) == expected


def test_the_three_weeks_are_covered_and_each_task_rests_on_something() -> None:
    covered = {day for task in THREE_WEEKS for day in range(task.first_day, task.last_day + 1)}
    assert covered == set(range(22))
    assert all(one in SOURCES or one == "practice" for task in THREE_WEEKS for one in task.sources)
    assert len({task.key for task in THREE_WEEKS}) == len(THREE_WEEKS)
