"""What to fork into a heap: the fewest whole containers of what stands there, the next best, or what is missing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from heaps.science.advice import browns_enough, own_kind
from heaps.science.blend import Mix, Part, blend
from heaps.science.feedstocks import FEEDSTOCKS, Feedstock
from heaps.science.fewest import Choice, Pile, fewest
from heaps.science.targets import ACCEPTABLE, IDEAL, LEFT_ALONE, MOST_AT_ONCE, Targets, in_range

#: Water goes by halves of a can, each of which counts as half a container.
WATER = "water"
HALVES = 2
#: How many choices are shown: the best and two others.
CHOICES = 3
#: What one person lifts alone at the most, close to the body: 16 kg for women, 25 for men (HSE-143, from memory, high).
LIFTED_ALONE_KG = 16.0
#: What a group can usually get, when nothing that stands there will do (common practice): dry browns, something coarse,
#: greens from next door.
USUALLY_FOUND = ("cardboard", "leaves-mixed", "straw-wheat", "wood-chip-leafy", "grass-fresh", "horse-manure-straw")


class Outcome(StrEnum):
    """What comes of asking for a recipe."""

    EMPTY = "empty"  # nothing lies here, so nothing is asked for
    OTHER_KIND = "other kind"  # soil, compost or leaves alone: no mix of greens and browns
    NOTHING = "nothing"  # it is in range
    DRAIN = "drain"  # wet, but browns enough: fork it loose, keep the rain off, let it drain
    STANDS_THERE = "stands there"  # with what is in stock
    FETCH = "fetch"  # only if something is fetched first
    CANNOT = "cannot"  # not even then, within what two people fetch on one day


@dataclass(frozen=True)
class Recipe:
    """The choices, best first, each with the targets it meets. `missing` is what of the first has to be fetched."""

    outcome: Outcome
    choices: tuple[Choice, ...] = ()
    missing: tuple[str, ...] = ()


def recipe(
    mix: Mix,
    stock: Sequence[Pile],
    found: Sequence[Pile] = (),
    aims: Sequence[Targets] = (IDEAL, ACCEPTABLE, LEFT_ALONE),
    left_alone: Targets = LEFT_ALONE,
) -> Recipe:
    """What brings a heap that is not in `left_alone` into the first of `aims` that can be reached, and other choices.

    `stock` is what stands there, `found` what could be fetched. Validity: fresh matter as it went in (`blend`), with
    `as_felt` for a heap that was squeezed. Of equal choices: fewer materials, then less weight to carry.
    """
    if said := settled(mix, left_alone):
        return Recipe(said)
    if choices := _choices(mix, stock, aims):
        return Recipe(Outcome.STANDS_THERE, choices)
    return _fetching(mix, stock, [replace(pile, fetched=True) for pile in found], aims)


def settled(mix: Mix, left_alone: Targets = LEFT_ALONE) -> Outcome | None:
    """What can be said of a heap before any stock is looked at; None where something has to be added."""
    if mix.dry_kg <= 0:
        return Outcome.EMPTY
    if own_kind(mix):
        return Outcome.OTHER_KIND
    if in_range(mix, left_alone):
        return Outcome.NOTHING
    wet = (mix.moisture_fraction or 0.0) > left_alone.moisture[1]
    return Outcome.DRAIN if wet and browns_enough(mix) else None


def still_best(kept: Recipe, stood: Mapping[str, int], stands: Mapping[str, int]) -> bool:
    """Whether a recipe made when `stood` was in stock is what would be answered now that `stands` is.

    It is, where nothing was added to the stock and what it takes is still there: fewer choices hold no better one.
    """
    grown = any(count > stood.get(key, 0) for key, count in stands.items())
    used = (
        (key, count) for choice in kept.choices for key, count in choice.counts.items() if key in stood or key in stands
    )
    return not grown and all(count <= stands.get(key, 0) for key, count in used)


def too_heavy_for_one(choice: Choice, piles: Sequence[Pile]) -> dict[str, float]:
    """The containers of a choice that one person should not lift full, and the kilograms of one: part-fill, or lift in
    pairs. Water is carried by halves of a can."""
    return {
        pile.key: pile.one.wet_kg for pile in piles if pile.key in choice.counts and pile.one.wet_kg > LIFTED_ALONE_KG
    }


def pile(stuff: Feedstock, container_l: float, count: int, key: str = "") -> Pile:
    """So many containers of a feedstock, each weighing what its bulk density says."""
    kg = container_l * (stuff.density_kg_m3 or 0) / 1000
    return Pile(key or stuff.key, blend([Part(stuff, kg, container_l)]), count)


def cans(can_l: float, count: int) -> Pile:
    """So many cans of water, in halves (a litre is a kilogram)."""
    return Pile(WATER, Mix(wet_kg=can_l / HALVES), count * HALVES, 1 / HALVES)


def usually_found(container_l: float, can_l: float, materials: Mapping[str, Feedstock] = FEEDSTOCKS) -> list[Pile]:
    """What a group could fetch on one day, a container being as large as those it uses."""
    piles = [pile(materials[one], container_l, MOST_AT_ONCE, f"{one}, fetched") for one in USUALLY_FOUND]
    return [*piles, replace(cans(can_l, MOST_AT_ONCE), key=f"{WATER}, fetched")]


def _choices(mix: Mix, stock: Sequence[Pile], aims: Sequence[Targets]) -> tuple[Choice, ...]:
    """Each without some material of each before it, so that they are choices and not the same with more on top.

    Where the first aim has too few, the wider ones fill up: with moisture and C:N both narrow, two materials seldom
    meet both (the example of COR-CN), and a barrow that does half the work may be what people carry.
    """
    choices: list[Choice] = []
    for targets in aims:
        while len(choices) < CHOICES and (choice := fewest(mix, stock, targets, choices)):
            choices.append(choice)
    return tuple(choices)


def _fetching(mix: Mix, stock: Sequence[Pile], fetched: Sequence[Pile], aims: Sequence[Targets]) -> Recipe:
    """The choice for which the least has to be fetched; of equal ones, that of the first aim."""
    containers = {pile.key: pile.containers for pile in fetched}

    def has_to_be_fetched(choice: Choice) -> float:
        return sum(containers.get(key, 0.0) * count for key, count in choice.counts.items())

    choices = [choice for targets in aims if (choice := fewest(mix, [*stock, *fetched], targets))]
    if not choices:
        return Recipe(Outcome.CANNOT)
    best = min(choices, key=has_to_be_fetched)
    return Recipe(Outcome.FETCH, (best,), tuple(key for key in best.counts if key in containers))
