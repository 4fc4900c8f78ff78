"""The fewest whole containers that bring a mix into range: a programme in whole numbers, solved by HiGHS."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from heaps.science.blend import Mix
from heaps.science.targets import INSIDE, MOST_AT_ONCE, Targets, in_range, surpluses

#: The solver's own clock, because a page waits for it: after so many seconds the best choice found so far is taken,
#: which is in range all the same. What stands in a shed is solved in hundredths of one (`bench recipe`).
LONGEST_S = 2.0
#: Of a whole heap a hundredth of the volume is as good as the rest.
LARGE_ENOUGH = 0.01
#: One container that has to be fetched from elsewhere weighs as much as so many that stand ready.
FETCHING = 1_000


@dataclass(frozen=True)
class Pile:
    """So many equal containers of one material. `one` is what a container brings.

    `containers` is what one of them counts for: a half, where `one` is half a can. `fetched`: it does not stand here.
    """

    key: str
    one: Mix
    count: int
    containers: float = 1.0
    fetched: bool = False


@dataclass(frozen=True)
class Choice:
    """How many of each pile go in (those of which none does are left out), the mix that comes of it, and the targets
    that it keeps to."""

    counts: Mapping[str, int]
    containers: float
    mix: Mix
    targets: Targets


def fewest(
    mix: Mix, piles: Sequence[Pile], targets: Targets, besides: Sequence[Choice] = (), least_l: float = 0.0
) -> Choice | None:
    """The choice that brings `mix` into range with the fewest containers, or None if no choice of these piles does.

    Of equal ones: fewer different materials, then less weight to carry. What has to be fetched counts first of all.
    A choice differs from each of `besides` by leaving out at least one of its materials. `least_l` is the least volume
    of the whole heap.
    """
    problem = _Problem(mix, piles, targets)
    problem.fetch_at_most(MOST_AT_ONCE)
    if least_l:
        problem.at_least(lambda one: one.heap_l, least_l)
    carried_kg = sum(pile.one.wet_kg * pile.count for pile in piles) or 1.0
    sorts = len(piles) + 1

    def price(pile: Pile) -> float:
        containers = pile.containers * (FETCHING if pile.fetched else 1)
        # Twice, because half a can is the least step; less than one for all that could be carried.
        return 2 * containers * sorts + 0.5 * pile.one.wet_kg / carried_kg

    return problem.solved([price(pile) for pile in piles], sort_price=1.0, besides=besides)


def largest(piles: Sequence[Pile], targets: Targets, most_l: float) -> Choice | None:
    """The choice that makes the largest new heap in range of at most `most_l` litres; of nearly equal ones (to a litre
    a container), that with fewer containers.
    """
    problem = _Problem(Mix(), piles, targets)
    problem.at_least(lambda mix: -mix.heap_l, -most_l)
    return problem.solved([pile.containers - pile.one.heap_l for pile in piles], sort_price=0.0, gap=LARGE_ENOUGH)


class _Problem:
    """Rows of sums that must be at least something, over whole numbers: how many of each pile, and whether any."""

    def __init__(self, mix: Mix, piles: Sequence[Pile], targets: Targets) -> None:
        self.mix, self.piles, self.targets = mix, piles, targets
        self.rows: list[list[float]] = []
        self.least: list[float] = []
        for number in range(len(surpluses(mix, targets))):
            self.at_least(partial(_surplus, targets, number), 0.0)

    def at_least(self, figure: Callable[[Mix], float], least: float) -> None:
        """A figure of the mix that adds up over its parts must be at least so much."""
        row = [figure(pile.one) for pile in self.piles]
        # Scaled, so that the solver's own tolerance (1e-6) means the same in each row.
        scale = max(map(abs, row), default=0.0) or 1.0
        self._add([*(one / scale for one in row), *[0.0] * len(self.piles)], (least - figure(self.mix)) / scale)

    def fetch_at_most(self, containers: float) -> None:
        """So many containers at most may come from elsewhere."""
        fetched = [-pile.containers if pile.fetched else 0.0 for pile in self.piles]
        self._add([*fetched, *[0.0] * len(self.piles)], -containers)

    def solved(
        self, prices: Sequence[float], sort_price: float, besides: Sequence[Choice] = (), gap: float = 0.0
    ) -> Choice | None:
        """The cheapest choice, to a share of `gap`; `sort_price` is paid once for each material that is used at all."""
        if not self.piles:
            return self._choice([]) if all(least <= 0 for least in self.least) else None
        self._bind_use_to_counts()
        for choice in besides:
            used = [float(pile.key in choice.counts) for pile in self.piles]
            self._add([*[0.0] * len(used), *(-one for one in used)], 1 - sum(used))
        counts = _whole_numbers(
            [*prices, *[sort_price] * len(self.piles)], self.rows, self.least, [pile.count for pile in self.piles], gap
        )
        return None if counts is None else self._choice(counts)

    def _bind_use_to_counts(self) -> None:
        """A material is used if, and only if, at least one container of it is."""
        for number, pile in enumerate(self.piles):
            count, use = [0.0] * len(self.piles), [0.0] * len(self.piles)
            count[number], use[number] = -1.0, float(pile.count)
            self._add([*count, *use], 0.0)
            count[number], use[number] = 1.0, -1.0
            self._add([*count, *use], 0.0)

    def _add(self, row: list[float], least: float) -> None:
        self.rows.append(row)
        self.least.append(least)

    def _choice(self, counts: Sequence[int]) -> Choice | None:
        """Checked by the exact sums, since a solver keeps its rows only to a tolerance."""
        taken = [(pile, count) for pile, count in zip(self.piles, counts, strict=True) if count]
        mix = added(self.mix, taken)
        if not in_range(mix, self.targets):
            return None
        containers = sum(pile.containers * count for pile, count in taken)
        return Choice({pile.key: count for pile, count in taken}, containers, mix, self.targets)


def added(mix: Mix, taken: Sequence[tuple[Pile, int]]) -> Mix:
    """A mix with so many of each pile forked in."""
    for pile, count in taken:
        for _ in range(count):
            mix = mix + pile.one
    return mix


def _surplus(targets: Targets, number: int, mix: Mix) -> float:
    return surpluses(mix, targets, INSIDE)[number]


def _whole_numbers(
    prices: Sequence[float], rows: Sequence[Sequence[float]], least: Sequence[float], most: Sequence[int], gap: float
) -> list[int] | None:
    # Read when first asked: a page that gives no advice pays nothing for it.
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    answer: Any = milp(
        np.array(prices),
        integrality=np.ones(len(prices)),
        bounds=Bounds(0, np.array([*most, *[1] * len(most)])),
        constraints=LinearConstraint(np.array(rows), lb=np.array(least)),
        # Left to itself HiGHS stops within 1e-4 of the best, which is more than a container where many are fetched.
        options={"mip_rel_gap": gap, "time_limit": LONGEST_S},
    )
    return None if answer.x is None else [round(one) for one in answer.x[: len(most)]]
