"""A hot heap built in one go: the recipe in layers, how large it will be, and what to do in its first three weeks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import floor

from heaps.science.blend import Mix
from heaps.science.fewest import Choice, Pile, fewest, largest
from heaps.science.targets import IDEAL, LEFT_ALONE, Targets

#: About 1 m3 or more keeps its heat (RHS-COMP, read).
LEAST_HOT_L = 1000.0
#: Litres as tipped for one litre in the heap, least and most: around PACKING, tuned to published volume curves.
PACKINGS = (1.1, 1.4)
#: Layers about a hand and a half deep, from three to eight of them (common practice).
LAYER_CM, FEWEST_LAYERS, MOST_LAYERS = 20, 3, 8
#: Rotted, soil or mineral: brings no heat (from memory, high).
COLD_CLASSES = ("compost", "leaf mould", "soil", "potting", "eggshell", "wood ash")


class Obstacle(StrEnum):
    """Why a heap will not get hot."""

    TOO_BROWN = "too brown"
    TOO_DRY = "too dry"
    TOO_WET = "too wet"
    AIRLESS = "airless"
    ROTTED = "rotted"  # or soil: nothing left in it to burn
    SMALL = "small"


@dataclass(frozen=True)
class Layer:
    """Containers of one material in each layer; the last part of one stays for the top."""

    key: str
    containers: float


@dataclass(frozen=True)
class HotHeap:
    """What to build. Without a `choice` nothing in range comes of the stock. `missing` says what would make it one."""

    choice: Choice | None
    obstacles: tuple[Obstacle, ...]
    least_l: float = 0.0
    most_l: float = 0.0
    layers: int = 0
    each: tuple[Layer, ...] = ()
    missing: Choice | None = None


@dataclass(frozen=True)
class Task:
    """One line of the checklist: from which day to which, and what its figures rest on."""

    key: str
    first_day: int
    last_day: int
    sources: tuple[str, ...]


#: The first three weeks. Day 0 is the day of building.
THREE_WEEKS = (
    Task("coarse base", 0, 0, ("EXT-TS", "practice")),
    Task("layers, each watered", 0, 0, ("EXT-TS", "RHS-TRIAL")),
    Task("browns and lid on top", 0, 0, ("EXT-TS", "practice")),
    Task("probe each day", 1, 7, ("COR-PHYS",)),
    Task("40 C by now", 2, 3, ("COR-PHYS",)),
    Task("cold by now: read the signs", 7, 7, ("USDA-317",)),
    Task("turn over 65 C, or when it cools", 4, 21, ("COR-PHYS", "USDA-317")),
    Task("squeeze and water at each turn", 4, 21, ("TK31", "EXT-TS")),
    Task("turn at least each week", 7, 21, ("mem-H",)),
    Task("probe several places, twice a week", 8, 21, ("KAMP24", "practice")),
    Task("no new heat after a turn: let it mature", 21, 21, ("USDA-317",)),
)


def hot_heap(
    piles: Sequence[Pile], area_m2: float, bay_l: float, found: Sequence[Pile] = (), targets: Targets = IDEAL
) -> HotHeap:
    """The largest heap in range that the bay takes. Volumes are those of the day it is built: it sinks from then on."""
    choice = largest(piles, targets, bay_l)
    heap_l = choice.mix.heap_l if choice else 0.0
    missing = None if heap_l >= LEAST_HOT_L else _missing(piles, found, bay_l, targets)
    if choice is None or heap_l <= 0:
        return HotHeap(None, obstacles(_all_of(piles), bay_l), missing=missing)
    tipped_l = choice.mix.tipped_l
    height_cm = heap_l / area_m2 / 10
    layers = min(max(round(height_cm / LAYER_CM), FEWEST_LAYERS), MOST_LAYERS)
    counts_for = {pile.key: pile.containers for pile in piles}
    each = tuple(Layer(key, _halves(count * counts_for[key] / layers)) for key, count in choice.counts.items())
    least_l, most_l = tipped_l / PACKINGS[1], tipped_l / PACKINGS[0]
    return HotHeap(choice, obstacles(choice.mix, heap_l), least_l, most_l, layers, each, missing)


def obstacles(mix: Mix, heap_l: float | None = None) -> tuple[Obstacle, ...]:
    """What keeps a heap from heating, in the order in which it is worth mending. `heap_l` is its volume, if known."""
    if mix.dry_kg <= 0:
        return ()
    c_to_n, moisture, air = mix.c_to_n, mix.moisture_fraction or 0.0, mix.free_air_space
    found = {
        Obstacle.ROTTED: mix.share_of(*COLD_CLASSES) >= 1 / 2,
        Obstacle.TOO_BROWN: c_to_n is None or c_to_n > LEFT_ALONE.c_to_n[1],
        Obstacle.TOO_DRY: moisture < LEFT_ALONE.moisture[0],
        Obstacle.TOO_WET: moisture > LEFT_ALONE.moisture[1],
        Obstacle.AIRLESS: air is not None and air < LEFT_ALONE.least_air,
        Obstacle.SMALL: heap_l is not None and heap_l < LEAST_HOT_L,
    }
    return tuple(one for one, there in found.items() if there)


def _missing(piles: Sequence[Pile], found: Sequence[Pile], bay_l: float, targets: Targets) -> Choice | None:
    """What would have to be fetched for a heap of 1 m3 in range, if the bay takes one."""
    if bay_l < LEAST_HOT_L:
        return None
    fetched = [replace(pile, fetched=True) for pile in found]
    return fewest(Mix(), [*piles, *fetched], targets, least_l=LEAST_HOT_L)


def _all_of(piles: Sequence[Pile]) -> Mix:
    """Everything but water, which makes no heap."""
    mix = Mix()
    for pile in piles:
        for _ in range(pile.count if pile.one.dry_kg else 0):
            mix = mix + pile.one
    return mix


def _halves(containers: float) -> float:
    """Down to half a container, or to a quarter where it is less than that."""
    step = 2 if containers >= 1 / 2 else 4
    return floor(containers * step + 1e-9) / step
