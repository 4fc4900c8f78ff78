"""Recipes for thirty heaps: the integer programme against trying every choice, on the same heaps and stock."""

import time
from collections.abc import Callable, Iterator
from random import Random

from cooperative.bench.figures import Figure, compared
from heaps.science.blend import Mix
from heaps.science.fewest import Pile, added, fewest
from heaps.science.recipe import cans, recipe, usually_found
from heaps.science.targets import ACCEPTABLE
from tests.brute_force import best
from tests.piles import pile

HEAPS = 30
#: Slower than trying everything would be no use of a solver.
SLOWEST = 1.0
STOCK = (("cardboard", 6), ("leaves-mixed", 8), ("straw-wheat", 4), ("wood-chip-leafy", 5), ("coffee", 3))
MADE_OF = ("grass-fresh", "peelings", "coffee", "prunings-soft", "leaves-mixed", "horse-manure-straw", "cardboard")


def figures(rounds: int) -> Iterator[Figure]:
    """Each round asks for all heaps both ways, in turns, so that the machine's moods meet both."""
    heaps, stock = some_heaps(), some_stock()
    fewest(heaps[0], stock, ACCEPTABLE)  # the solver is read from disk once, and nothing is measured of that
    ours, tried = [], []
    for _ in range(rounds):
        ours.append(milliseconds(lambda: [fewest(mix, stock, ACCEPTABLE) for mix in heaps]))
        tried.append(milliseconds(lambda: [best(mix, stock, ACCEPTABLE) for mix in heaps]))
    choices = 1
    for one in stock:
        choices *= one.count + 1
    yield compared(f"recipe: {HEAPS} heaps, best of {choices:,} choices", ours, tried, SLOWEST)
    found = usually_found(80, 10)
    whole = [milliseconds(lambda: [recipe(mix, stock, found) for mix in heaps]) for _ in range(rounds)]
    spread = f"{min(whole):.1f}-{max(whole):.1f} ms, {rounds} rounds"
    yield Figure(
        f"recipe: {HEAPS} heaps, with the next best and what is missing",
        sorted(whole)[rounds // 2],
        "ms",
        spread=spread,
    )


def some_heaps() -> list[Mix]:
    """Thirty heaps of three materials, the same on every machine."""
    random = Random(30)  # noqa: S311 - nothing is secret here
    return [
        added(Mix(), [(pile(key, 40, 1), random.randint(1, 6)) for key in random.sample(MADE_OF, 3)])
        for _ in range(HEAPS)
    ]


def some_stock() -> list[Pile]:
    """What stands in a shed."""
    return [*(pile(key, 80, count) for key, count in STOCK), cans(10, 5)]


def milliseconds(work: Callable[[], object]) -> float:
    """How long one piece of work took."""
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000
