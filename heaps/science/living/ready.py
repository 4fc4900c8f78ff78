"""When the equations would call a heap ready, and how many bags it then fills. A person's verdict decides."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import NOTHING_KG, Evening, Heaps, share_gone

NEVER = -1.0
#: A breathing test is done at 30 C; so much of organic matter is carbon: mg CO2-C for a g of organic matter.
BREATH_MG_G = 500 * 1.066**10
#: Regulators used "60 % decomposed or 180 days active" (abstract read); tuned. Leaves: breath says nothing of them.
GONE, LEAVES_GONE = 0.70, 0.60
#: Kelvin over the air, and days since it was fed or hotter than 40 C (common practice).
WARM_K, HOT_C, REST_DAYS = 10.0, 40.0, 28


@dataclass
class Waiting:
    """What a block has still to wait for, heaps x members."""

    fed_day: Array
    hot_day: Array
    ready_day: Array
    ready_m3: Array

    @classmethod
    def of(cls, heaps: Heaps) -> "Waiting":
        """Nothing was fed, nothing was hot yet."""
        shape = heaps.core_c.shape
        return cls(np.zeros((shape[0], 1)), np.full(shape, NEVER), np.full(shape, NEVER), np.zeros(shape))

    def fed(self, day: int, row: int) -> None:
        """A load reopens a heap, and so does another heap that is forked onto it."""
        self.fed_day[row] = day
        self.ready_day[row] = NEVER

    def moved(self, row: int, into: int, share: float) -> None:
        """The same heap in another place: it waits as long as it did."""
        for waits in (self.fed_day, self.hot_day, self.ready_day):
            waits[into] = waits[row]
        self.ready_m3[into] = share * self.ready_m3[row]

    def look(self, day: int, heaps: Heaps, evening: Evening, members: Members, smooth_air_c: float) -> None:
        """Note each member's first ready day."""
        self.hot_day[heaps.core_c > HOT_C] = day
        waits = (self.ready_day == NEVER) & (day - np.maximum(self.fed_day, self.hot_day) >= REST_DAYS)
        if not waits.any():
            return
        new = waits & is_ready(heaps, evening, members, smooth_air_c)
        self.ready_day[new] = day
        self.ready_m3[new] = evening.volume_m3[new]


def is_ready(heaps: Heaps, evening: Evening, members: Members, smooth_air_c: float) -> NDArray[np.bool_]:
    """Where all signs but rest say so. An empty bay is never ready."""
    gone = share_gone(evening.degradable_kg, heaps.degradable_in_kg)
    rotted = (breath_mg_g_d(heaps, evening.organic_kg, members) <= members.breath_bar) & (gone >= GONE)
    rotted = np.where(heaps.leaf > 0, gone >= LEAVES_GONE, rotted)
    ready: NDArray[np.bool_] = rotted & (evening.dry_kg > NOTHING_KG) & (heaps.core_c - smooth_air_c < WARM_K)
    return ready


def breath_mg_g_d(heaps: Heaps, organic_kg: Array, members: Members) -> Array:
    """What a breathing test at 30 C would show: mg of carbon as CO2 for a gram of organic matter in a day."""
    rots = members.fast_per_day * (heaps.fast_kg + heaps.shell_kg)
    rots = rots + members.slow_per_day * heaps.slow_rate * heaps.slow_kg
    breath: Array = BREATH_MG_G * rots / np.maximum(organic_kg, NOTHING_KG)
    return breath


def bags(volume_m3: Array, members: Members, bag_l: float) -> Array:
    """Bags that a volume in the heap fills once it is loosened and sieved."""
    sieved_l = 1000 * volume_m3 * members.swell * (1 - np.minimum(members.sieve_loss, 0.9))
    filled: Array = sieved_l / (members.bag_fill * bag_l)
    return filled
