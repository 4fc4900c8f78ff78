"""How long a heap is taken at once: some days while it rests, parts of a day while it is lively.

What a heap does goes by its own members alone, whatever lies beside it.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from heaps.science.living.parameters import Array
from heaps.science.living.state import ALL, Heaps, Rows

#: A step is so long that the core guessed for its middle was wrong by so many kelvin (root mean square of the members);
#: a day has so many steps at most, and so many when something was done to the heap; and so many days at once at most
#: (all tuned to SciPy's solver).
WRONG_K, MANY, WHEN_DISTURBED, LONGEST_DAYS = 0.14, 8, 6, 8

#: Against that, squared: the next step is twice as long at most, because a guess may be right by chance.
LEAST_WRONG = 2.0**-4


@dataclass(frozen=True)
class Stretch:
    """So many days at once in so many steps. `fresh`: just now something was done to the heap, so that nothing that
    was so before tells how it goes on."""

    days: int
    steps: int
    fresh: bool = False

    @property
    def step_days(self) -> float:
        """The length of one step."""
        return self.days / self.steps


def stretches(heaps: Heaps, day: int, left_alone: Sequence[int]) -> list[tuple[Stretch, Rows]]:
    """The next stretch of each heap that is left alone for so many days; none of those that are left alone for none.

    Long ones begin and end on the same days for all, so that heaps at rest go side by side.
    """
    may_days = heaps.may_days[:, 0].tolist()
    found: dict[Stretch, list[int]] = defaultdict(list)
    for row, days in enumerate(left_alone):
        if days:
            found[_stretch(day, may_days[row], days)].append(row)
    whole = len(left_alone)
    return [(stretch, ALL if len(rows) == whole else np.array(rows)) for stretch, rows in found.items()]


def _stretch(day: int, may_days: float, left_alone: int) -> Stretch:
    if may_days == 0:
        return Stretch(1, WHEN_DISTURBED, fresh=True)
    if may_days < 1:
        return Stretch(1, min(MANY, ceil(1 / may_days)))
    days = LONGEST_DAYS
    while days > 1 and (day % days or days > left_alone or days > may_days):
        days //= 2
    return Stretch(days, 1)


def may_be(stretch: Stretch, wrong_k: Array) -> Array:
    """Days that the next step of each heap may be long, by what the core guessed for a step's middle was wrong by."""
    square = np.vecdot(wrong_k, wrong_k)[:, None] / (wrong_k.shape[1] * WRONG_K**2)
    days: Array = stretch.step_days / np.maximum(square, LEAST_WRONG) ** 0.25  # what it is wrong by goes by the square
    return days
