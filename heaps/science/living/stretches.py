"""How long a heap is taken at once: some days while it rests, parts of a day while it is lively.

That goes by its own members alone, whatever lies beside it.
"""

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from heaps.science.living.parameters import Array
from heaps.science.living.state import ALL, Heaps, Rows

#: A step is so long that the core guessed for its middle was wrong by so many kelvin (root mean square of the members);
#: a day has one of these numbers of steps, the most when something was just done to the heap; and so many days are
#: lived at once at most (all tuned to SciPy's solver).
WRONG_K, STEPS, LONGEST_DAYS = 0.14, (1, 2, 3, 6), 8
#: Against that, squared: the next step is twice as long at most, because a guess may be right by chance.
LEAST_WRONG = 2.0**-4


def stretches(heaps: Heaps, day: int, left_alone: Sequence[int]) -> list[tuple[int, Rows]]:
    """How many days each heap lives at once, of those that are left alone for so many; none of those for 0.

    Long ones begin and end on the same days for all, so that heaps at rest go side by side.
    """
    may_days = heaps.may_days[:, 0].tolist()
    return _alike([alone and _at_once(day, may, alone) for may, alone in zip(may_days, left_alone, strict=True)])


def _at_once(day: int, may_days: float, left_alone: int) -> int:
    days = LONGEST_DAYS
    while days > 1 and (day % days or days > left_alone or days > may_days):
        days //= 2
    return days


def steps_of(heaps: Heaps) -> list[tuple[int, Rows]]:
    """In how many steps each heap goes through its stretch."""
    may_days = heaps.may_days[:, 0].tolist()
    return _alike([next((steps for steps in STEPS if steps * may >= 1), STEPS[-1]) for may in may_days])


def _alike(numbers: Sequence[int]) -> list[tuple[int, Rows]]:
    """Each number with the heaps that have it; those with 0 are left out."""
    found: dict[int, list[int]] = defaultdict(list)
    for row, number in enumerate(numbers):
        if number:
            found[number].append(row)
    return [(number, ALL if len(rows) == len(numbers) else np.array(rows)) for number, rows in found.items()]


def may_be(step_days: float, wrong_k: Array) -> Array:
    """Days that the next step of each heap may be long, by what the core guessed for a step's middle was wrong by,
    which goes by the square of its length."""
    square = np.vecdot(wrong_k, wrong_k)[:, None] / (wrong_k.shape[1] * WRONG_K**2)
    days: Array = step_days / np.maximum(square, LEAST_WRONG) ** 0.25
    return days
