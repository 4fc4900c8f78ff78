"""When people would call a heap ready, when a breathing test would, and how many bags it fills. A verdict decides.

People go by what can still be told apart and by warmth. Forecasts go by that; what is published of times, by the test.
"""

from dataclasses import dataclass

import numpy as np

from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import NOTHING_KG, Evenings, Heaps

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
    looked: list[int]  # until which day each heap was looked at

    @classmethod
    def of(cls, heaps: Heaps, members: Members) -> "Waiting":
        """Nothing was fed, nothing was hot yet."""
        shape, odds = heaps.core_c.shape, GONE / (1 - GONE) * np.exp(members.gone_shift)
        gone_bar = np.where(heaps.leaf > 0, LEAVES_GONE, odds / (1 + odds))
        hot_day, called_day, ready_day = np.full((3, *shape), NEVER)
        return cls(gone_bar, np.zeros((shape[0], 1)), hot_day, called_day, np.zeros(shape), ready_day, [0] * shape[0])

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
        self, row: int, until: int, heaps: Heaps, members: Members, evenings: Evenings, smooth_air_c: Array
    ) -> None:
        """Note the first days of a heap, on all evenings since it was last looked at."""
        first, self.looked[row] = self.looked[row], until
        on, day = slice(first, until), np.arange(first, until)[:, None]
        core_c, hot_day = evenings.core_c[on, row], self.hot_day[row]
        if first < until and core_c.max() > HOT_C:
            hot_day = np.maximum.accumulate(np.where(core_c > HOT_C, day, hot_day), axis=0)
            self.hot_day[row] = hot_day[-1]
        called, ready = self.called_day[row] == NEVER, self.ready_day[row] == NEVER
        if until - self.fed_day[row, 0] <= REST_DAYS or first == until or not (called | ready).any():
            return
        cool = day - np.maximum(self.fed_day[row], hot_day) >= REST_DAYS
        cool &= core_c - smooth_air_c[on, None] < WARM_K
        gone, leaf = evenings.gone[on, row], heaps.leaf[row] > 0
        called = called & cool & (gone >= self.gone_bar[row])
        breath = breath_mg_g_d(heaps, row, members, gone, evenings.quick_kg[on, row])
        # of leaves a breathing test says nothing
        ready = ready & cool & np.where(leaf, gone >= LEAVES_GONE, (gone >= GONE) & (breath <= members.breath_bar))
        place = called.argmax(axis=0)
        volume_m3 = np.take_along_axis(evenings.volume_m3[on, row], place[None], axis=0)[0]
        self.called_day[row] = np.where(called.any(axis=0), first + place, self.called_day[row])
        self.called_m3[row] = np.where(called.any(axis=0), volume_m3, self.called_m3[row])
        self.ready_day[row] = np.where(ready.any(axis=0), first + ready.argmax(axis=0), self.ready_day[row])


def breath_mg_g_d(heaps: Heaps, row: int, members: Members, gone: Array, quick_kg: Array) -> Array:
    """What a breathing test at 30 C would show: mg of carbon as CO2 for a gram of organic matter in a day."""
    left_kg = (1 - gone) * heaps.degradable_in_kg[row]
    rots = members.fast_per_day * quick_kg + members.slow_per_day * heaps.slow_rate[row] * (left_kg - quick_kg)
    breath: Array = BREATH_MG_G * rots / np.maximum(left_kg + heaps.refractory_kg[row], NOTHING_KG)
    return breath


def bags(volume_m3: Array, members: Members, bag_l: float) -> Array:
    """Bags that a volume in the heap fills once it is loosened and sieved."""
    sieved_l = 1000 * volume_m3 * members.swell * (1 - np.minimum(members.sieve_loss, 0.9))
    filled: Array = sieved_l / (members.bag_fill * bag_l)
    return filled
