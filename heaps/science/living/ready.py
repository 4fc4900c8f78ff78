"""When people would call a heap ready, when a breathing test would, and how many bags it fills. A verdict decides.

People go by what can still be told apart and by warmth. Forecasts go by that; what is published of times, by the test.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import NOTHING_KG, Evening, Heaps, Rows

NEVER = -1.0
#: A breathing test is done at 30 C; so much of organic matter is carbon: mg CO2-C for a g of organic matter.
BREATH_MG_G = 500 * 1.066**10
#: Regulators used "60 % decomposed or 180 days active" (abstract read); tuned. Leaves: breath says nothing of them.
GONE, LEAVES_GONE = 0.70, 0.60
#: Kelvin over the air, and days since it was fed or hotter than 40 C (common practice).
WARM_K, HOT_C, REST_DAYS = 10.0, 40.0, 28


@dataclass
class Waiting:
    """What a block has still to wait for, heaps x members: the first day on which somebody would call it ready by eye
    and hand, with its volume then, and the first on which a breathing test would say so, too."""

    gone_bar: Array
    fed_day: Array
    hot_day: Array
    called_day: Array
    called_m3: Array
    ready_day: Array

    @classmethod
    def of(cls, heaps: Heaps, members: Members) -> "Waiting":
        """Nothing was fed, nothing was hot yet."""
        shape, odds = heaps.core_c.shape, GONE / (1 - GONE) * np.exp(members.gone_shift)
        gone_bar = np.where(heaps.leaf > 0, LEAVES_GONE, odds / (1 + odds))
        hot_day, called_day, ready_day = np.full((3, *shape), NEVER)
        return cls(gone_bar, np.zeros((shape[0], 1)), hot_day, called_day, np.zeros(shape), ready_day)

    def fed(self, day: int, row: int) -> None:
        """A load reopens a heap, and so does another heap that is forked onto it."""
        self.fed_day[row] = day
        self.called_day[row] = self.ready_day[row] = NEVER

    def moved(self, row: int, into: int, share: float) -> None:
        """The same heap in another place: it waits as long as it did."""
        for waits in (self.fed_day, self.hot_day, self.called_day, self.ready_day):
            waits[into] = waits[row]
        self.called_m3[into] = share * self.called_m3[row]

    def look(
        self, rows: Rows, first: int, heaps: Heaps, evenings: Evening, members: Members, smooth_air_c: Array
    ) -> None:
        """Note the first days of some heaps, on evenings that follow each other from a day on."""
        day = first + np.arange(len(smooth_air_c))[:, None, None]
        if evenings.core_c.max() > HOT_C:
            self.hot_day[rows] = np.where(evenings.core_c > HOT_C, day, self.hot_day[rows]).max(axis=0)
        if first + len(smooth_air_c) - self.fed_day[rows].min() <= REST_DAYS:
            return
        called, ready = self.called_day[rows] == NEVER, self.ready_day[rows] == NEVER
        if not (called | ready).any():
            return
        rests = day - np.maximum(self.fed_day[rows], self.hot_day[rows]) >= REST_DAYS
        cool = rests & (evenings.core_c - smooth_air_c < WARM_K)
        called = called & cool & (evenings.gone >= self.gone_bar[rows])
        ready = ready & cool & is_rotted(heaps, evenings, members)
        place = called.argmax(axis=0)
        self.called_day[rows] = np.where(called.any(axis=0), first + place, self.called_day[rows])
        volume_m3 = np.take_along_axis(evenings.volume_m3, place[None], axis=0)[0]
        self.called_m3[rows] = np.where(called.any(axis=0), volume_m3, self.called_m3[rows])
        self.ready_day[rows] = np.where(ready.any(axis=0), first + ready.argmax(axis=0), self.ready_day[rows])


def is_rotted(heaps: Heaps, evening: Evening, members: Members) -> NDArray[np.bool_]:
    """Where a breathing test would say so, too; of leaves it says nothing."""
    quiet = breath_mg_g_d(heaps, evening, members) <= members.breath_bar
    rotted: NDArray[np.bool_] = np.where(heaps.leaf > 0, evening.gone >= LEAVES_GONE, quiet & (evening.gone >= GONE))
    return rotted


def breath_mg_g_d(heaps: Heaps, evening: Evening, members: Members) -> Array:
    """What a breathing test at 30 C would show: mg of carbon as CO2 for a gram of organic matter in a day."""
    rots = members.fast_per_day * evening.quick_kg + members.slow_per_day * heaps.slow_rate * evening.slow_kg
    organic_kg = evening.quick_kg + evening.slow_kg + heaps.refractory_kg
    breath: Array = BREATH_MG_G * rots / np.maximum(organic_kg, NOTHING_KG)
    return breath


def bags(volume_m3: Array, members: Members, bag_l: float) -> Array:
    """Bags that a volume in the heap fills once it is loosened and sieved."""
    sieved_l = 1000 * volume_m3 * members.swell * (1 - np.minimum(members.sieve_loss, 0.9))
    filled: Array = sieved_l / (members.bag_fill * bag_l)
    return filled
