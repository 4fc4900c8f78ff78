"""What lies in a block of heaps at one moment, as arrays of heaps x members, and the balance read from them."""

from collections.abc import Sequence
from dataclasses import dataclass, field, fields

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


@dataclass(frozen=True)
class Bay:
    """Where a heap lies: its ground in metres, whether it lies under a cover, and whether it is a leaf bin."""

    length_m: float
    breadth_m: float
    covered: bool = True
    leaf: bool = False


def zeros() -> Array:
    """A field that `empty` gives its shape."""
    return np.zeros((0, 0))


@dataclass
class Heaps:
    """Heaps x members. The masses move with what is forked; the rest belongs to the place or to the moment."""

    length_m: Array
    breadth_m: Array
    cover: Array
    leaf: Array
    core_c: Array
    volume_m3_kg: Array = field(default_factory=zeros)  # of dry matter
    slow_rate: Array = field(default_factory=zeros)  # against the common one, mean of what is in the heap
    fast_kg: Array = field(default_factory=zeros)  # in the warm core
    shell_kg: Array = field(default_factory=zeros)  # the same stuff, cold and dry, until the heap is turned
    slow_kg: Array = field(default_factory=zeros)
    refractory_kg: Array = field(default_factory=zeros)
    ash_kg: Array = field(default_factory=zeros)
    nitrogen_kg: Array = field(default_factory=zeros)
    carbon_kg: Array = field(default_factory=zeros)
    water_kg: Array = field(default_factory=zeros)
    degradable_in_kg: Array = field(default_factory=zeros)  # all that could rot when it was tipped
    lost_carbon_kg: Array = field(default_factory=zeros)  # booked: as carbon dioxide
    lost_organic_kg: Array = field(default_factory=zeros)
    made_water_kg: Array = field(default_factory=zeros)  # booked: from organic matter
    rain_kg: Array = field(default_factory=zeros)
    vapour_kg: Array = field(default_factory=zeros)
    drained_kg: Array = field(default_factory=zeros)

    lately_dry_kg: Array = field(default_factory=zeros)  # change a day, from which what comes is guessed
    lately_water_kg: Array = field(default_factory=zeros)
    lately_m3_kg: Array = field(default_factory=zeros)
    may_days: Array = field(default_factory=zeros)  # that the next step may be long; 0 when something was done to it
    lately_pull_k: Array = field(default_factory=zeros)  # as `heating` found it last
    lately_rots: Array = field(default_factory=zeros)  # of fast, shell and slow matter x heaps x members

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
        return self.fast_kg + self.shell_kg + self.slow_kg

    @property
    def organic_kg(self) -> Array:
        """Organic matter."""
        return self.degradable_kg + self.refractory_kg

    @property
    def dry_kg(self) -> Array:
        """Dry matter."""
        return self.organic_kg + self.ash_kg

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


@dataclass(frozen=True)
class Evening:
    """What is read of heaps when a day is over; of some evenings days x heaps x members."""

    core_c: Array
    volume_m3: Array
    gone: Array
    quick_kg: Array  # fast matter of core and shell
    slow_kg: Array

    @classmethod
    def of(cls, heaps: Heaps) -> "Evening":
        """As they lie."""
        return cls(heaps.core_c, heaps.volume_m3, heaps.gone, heaps.fast_kg + heaps.shell_kg, heaps.slow_kg)

    def since(self, before: "Evening | None", days: int) -> "Evening":
        """All evenings of a stretch of so many days of which this is the last, laid between it and the one before."""
        if before is None or days == 1:
            return Evening(*(value[None] for value in vars(self).values()))
        share = (np.arange(1, days + 1) / days)[:, None, None]
        return Evening(*(a + share * (b - a) for a, b in zip(vars(before).values(), vars(self).values(), strict=True)))


#: What moves when a share of a heap is forked over or taken out.
MASSES = (
    "fast_kg",
    "shell_kg",
    "slow_kg",
    "refractory_kg",
    "ash_kg",
    "nitrogen_kg",
    "carbon_kg",
    "water_kg",
    "degradable_in_kg",
)


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
    moment = {"core_c": np.full(shape, float(air_c)), "lately_rots": np.zeros((3, *shape))}
    heaps = Heaps(**column, **moment, may_days=np.ones((len(bays), 1)))
    for one in fields(heaps):
        if getattr(heaps, one.name).size == 0:
            setattr(heaps, one.name, np.zeros(shape))
    return heaps
