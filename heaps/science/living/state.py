"""What lies in a block of heaps at one moment, as arrays of heaps x members, and the balance read from them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heaps.science.blend import ASH_KG_M3, ORGANIC_KG_M3, WATER_KG_M3
from heaps.science.living.parameters import Array

#: The heaps of a block: some by their places, or all.
Rows = NDArray[np.int_] | slice
ALL = slice(None)
#: Below this nothing lies there; it also keeps divisions by an empty bay away.
NOTHING_KG = 1e-9
#: Open to the rain: some of it runs off (tuned). A lid or sheet keeps all of it off.
OPEN, COVERED = 0.3, 1.0
#: Water and dry matter, MJ per kg and kelvin (handbooks, from memory, high).
WATER_MJ_KG_K, DRY_MJ_KG_K = 0.00419, 0.0013
WATER_KG_KG = 0.55  # water made from a kg of organic matter (Haug 1993, from memory)


@dataclass(frozen=True)
class Bay:
    """Where a heap lies: its ground in metres, whether it lies under a cover, and whether it is a leaf bin."""

    length_m: float
    breadth_m: float
    covered: bool = True
    leaf: bool = False


#: What moves when a share of a heap is forked over or taken out, in the order in which it lies in `Heaps.masses_kg`.
FAST, SHELL, SLOW, REFRACTORY, ASH, NITROGEN, CARBON, DEGRADABLE_IN, WATER = range(MASSES := 9)
POOLS, ORGANIC, DRY = slice(FAST, REFRACTORY), slice(FAST, ASH), slice(FAST, NITROGEN)


@dataclass(frozen=True)
class Row:
    """One row, or some that lie side by side, of a stack of arrays, by a name: read as a view, written in place."""

    stack: str
    place: int | slice

    def __get__(self, whole: object, _type: type | None = None) -> Array:
        stack: Array = getattr(whole, self.stack)
        return stack[self.place]

    def __set__(self, whole: object, value: Array) -> None:
        getattr(whole, self.stack)[self.place] = value


@dataclass
class Heaps:
    """Heaps x members, in stacks of what is worked on together. The masses move with what is forked; the rest belongs
    to the place or to the moment."""

    length_m: Array
    breadth_m: Array
    cover: Array
    leaf: Array
    core_c: Array
    volume_m3_kg: Array  # of dry matter
    slow_rate: Array  # against the common one, mean of what is in the heap
    masses_kg: Array
    booked_kg: Array
    lately: Array  # change a day of water, volume and dry matter, from which what comes is guessed
    may_days: Array  # that the next step may be long; 0 when something was done to it
    lately_pull_k: Array  # as `heating` found it last
    lately_rots: Array  # of the pools

    pools_kg = Row("masses_kg", POOLS)
    fast_kg = Row("masses_kg", FAST)  # in the warm core
    shell_kg = Row("masses_kg", SHELL)  # the same stuff, cold and dry, until the heap is turned
    slow_kg = Row("masses_kg", SLOW)
    refractory_kg = Row("masses_kg", REFRACTORY)
    ash_kg = Row("masses_kg", ASH)
    nitrogen_kg = Row("masses_kg", NITROGEN)
    carbon_kg = Row("masses_kg", CARBON)
    degradable_in_kg = Row("masses_kg", DEGRADABLE_IN)  # all that could rot when it was tipped
    water_kg = Row("masses_kg", WATER)
    lost_organic_kg = Row("booked_kg", 0)
    lost_carbon_kg = Row("booked_kg", 1)  # as carbon dioxide
    rain_kg = Row("booked_kg", 2)
    vapour_kg = Row("booked_kg", 3)
    drained_kg = Row("booked_kg", 4)

    def some(self, rows: Rows) -> "Heaps":
        """Some heaps by themselves."""
        if isinstance(rows, slice):
            return self
        return Heaps(**{name: value[..., rows, :] for name, value in vars(self).items()})

    def put(self, rows: Rows, some: "Heaps") -> None:
        """Some heaps as they are by now."""
        if some is not self:
            for name, value in vars(some).items():
                getattr(self, name)[..., rows, :] = value

    @property
    def degradable_kg(self) -> Array:
        """What can still rot."""
        return summed(self.pools_kg)

    @property
    def organic_kg(self) -> Array:
        """Organic matter."""
        return summed(self.masses_kg[ORGANIC])

    @property
    def dry_kg(self) -> Array:
        """Dry matter."""
        return summed(self.masses_kg[DRY])

    @property
    def made_water_kg(self) -> Array:
        """Booked: from organic matter."""
        return WATER_KG_KG * self.lost_organic_kg

    @property
    def volume_m3(self) -> Array:
        """What the heap takes up."""
        return self.volume_m3_kg * self.dry_kg

    @property
    def heat_mj_k(self) -> Array:
        """The heat it takes to warm the heap by one kelvin."""
        return DRY_MJ_KG_K * self.dry_kg + WATER_MJ_KG_K * self.water_kg

    @property
    def moisture(self) -> Array:
        """Water as a share of wet mass."""
        return self.water_kg / np.maximum(self.water_kg + self.dry_kg, NOTHING_KG)

    @property
    def c_to_n(self) -> Array:
        """Carbon over nitrogen of what is still there."""
        return self.carbon_kg / np.maximum(self.nitrogen_kg, NOTHING_KG)

    @property
    def free_air_space(self) -> Array:
        """Air as a share of the volume."""
        return free_air_space(self.organic_kg, self.ash_kg, self.water_kg, np.maximum(NOTHING_KG, self.volume_m3))

    @property
    def gone(self) -> Array:
        """The share of all degradable matter that has rotted; 0 for an empty bay."""
        return share_gone(self.degradable_kg, self.degradable_in_kg)


class Evenings:
    """What is read of heaps when a day is over, days x heaps x members."""

    core_c, volume_m3, gone = Row("told", 0), Row("told", 1), Row("told", 2)
    quick_kg = Row("told", 3)  # fast matter of core and shell

    def __init__(self, days: int, heaps: Heaps) -> None:
        self.told = np.empty((4, days, *heaps.core_c.shape))

    @staticmethod
    def now(heaps: Heaps) -> Array:
        """Of one evening, or of a morning before some days at once."""
        fast_kg, shell_kg, slow_kg = heaps.pools_kg
        quick_kg = fast_kg + shell_kg
        gone = share_gone(quick_kg + slow_kg, heaps.degradable_in_kg)
        return np.array((heaps.core_c, heaps.volume_m3, gone, quick_kg))

    def note(self, first: int, days: int, rows: Rows, before: Array | None, now: Array) -> None:
        """All evenings of a stretch of which `now` is the last, laid between it and the morning before."""
        if before is None:
            self.told[:, first, rows] = now
        else:
            share = (np.arange(1, days + 1) / days)[:, None, None]
            self.told[:, first : first + days, rows] = before[:, None] + share * (now - before)[:, None]


def summed(kg: Array) -> Array:
    """Of some rows."""
    total: Array = np.add.reduce(kg, axis=0)
    return total


def share_gone(degradable_kg: Array, degradable_in_kg: Array) -> Array:
    """The share of all that could rot which has; 0 where nothing was tipped."""
    gone: Array = (degradable_in_kg - degradable_kg) / np.maximum(degradable_in_kg, NOTHING_KG)
    return gone


def free_air_space(organic_kg: Array, ash_kg: Array, water_kg: Array, volume_m3: Array) -> Array:
    """Air as a share of a volume above nothing, with the solid densities of `blend`; never below nothing."""
    solid_m3 = organic_kg / ORGANIC_KG_M3
    solid_m3 += ash_kg / ASH_KG_M3
    solid_m3 += water_kg / WATER_KG_M3
    solid_m3 /= volume_m3
    return np.maximum(np.subtract(1, solid_m3, out=solid_m3), 0.0, out=solid_m3)


def empty(bays: Sequence[Bay], members: int, air_c: float) -> Heaps:
    """Bays in which nothing lies yet."""
    column = {
        name: np.array([[value] for value in values], dtype=float)
        for name, values in {
            "length_m": [one.length_m for one in bays],
            "breadth_m": [one.breadth_m for one in bays],
            "cover": [COVERED if one.covered else OPEN for one in bays],
            "leaf": [float(one.leaf) for one in bays],
        }.items()
    }
    shape = (len(bays), members)
    return Heaps(
        **column,
        core_c=np.full(shape, float(air_c)),
        volume_m3_kg=np.zeros(shape),
        slow_rate=np.zeros(shape),
        masses_kg=np.zeros((MASSES, *shape)),
        booked_kg=np.zeros((5, *shape)),
        lately=np.zeros((3, *shape)),
        may_days=np.ones((len(bays), 1)),
        lately_pull_k=np.zeros(shape),
        lately_rots=np.zeros((3, *shape)),
    )
