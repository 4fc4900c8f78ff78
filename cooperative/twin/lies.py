"""What lies in the heaps of a world, and what is done to them: tipped on top, turned, and buried as they grow."""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from cooperative.twin.worlds import Nature
from heaps.science.living.parameters import Array

CORE, MIDDLE, SHELL = 0, 1, 2
WATER_MJ_KG_K, DRY_MJ_KG_K = 0.00419, 0.0012
TINY = 1e-9
#: The moving masses, kg of a shell.
POOLS = ("soluble", "cellulosic", "resistant", "humus", "ash", "water")


@dataclass
class Lies:
    """Heaps x shells, and heaps x 1 for what is the whole heap's."""

    soluble: Array
    cellulosic: Array
    resistant: Array
    humus: Array
    ash: Array
    water: Array
    temp_c: Array
    life: Array
    volume_m3: Array
    reach: Array
    carbon_per_nitrogen: Array
    ground_m2: Array

    @classmethod
    def nothing(cls, ground_m2: Array, air_c: Array) -> "Lies":
        """Empty bays."""
        count = len(ground_m2)
        shells = {name: np.zeros((count, 3)) for name in POOLS}
        return cls(
            **shells,
            temp_c=np.repeat(air_c[:, None], 3, axis=1),
            life=np.full((count, 3), 0.02),
            volume_m3=np.zeros((count, 1)),
            reach=np.ones((count, 1)),
            carbon_per_nitrogen=np.full((count, 1), 30.0),
            ground_m2=ground_m2[:, None],
        )

    def some(self, which: NDArray[np.bool_]) -> "Lies":
        """Only these heaps."""
        return Lies(**{one.name: getattr(self, one.name)[which] for one in fields(self)})

    @property
    def degradable(self) -> Array:
        """What can still be told apart and rots."""
        return self.soluble + self.cellulosic + self.resistant

    @property
    def organic(self) -> Array:
        """Organic matter."""
        return self.degradable + self.humus

    @property
    def heat_mj_k(self) -> Array:
        """The heat it takes to warm a shell by a kelvin."""
        heat: Array = DRY_MJ_KG_K * (self.organic + self.ash) + WATER_MJ_KG_K * self.water
        return np.maximum(heat, TINY)

    @property
    def recognisable(self) -> Array:
        """The share of dry matter that an eye still knows for what it was: of the heap and of what lies outside."""
        dry, known = self.organic + self.ash, self.degradable
        of_all = known.sum(1, keepdims=True) / np.maximum(dry.sum(1, keepdims=True), TINY)
        share: Array = (of_all + known[:, SHELL:] / np.maximum(dry[:, SHELL:], TINY)) / 2
        return share


@dataclass(frozen=True)
class Load:
    """What a day brings to each heap (heaps x 1, kg and m3), nothing where all is 0."""

    soluble: Array
    cellulosic: Array
    resistant: Array
    humus: Array
    ash: Array
    water: Array
    volume_m3: Array
    carbon_per_nitrogen: Array


def tip(lies: Lies, load: Load, air_c: Array) -> None:
    """It goes on top, so into the outer shell; what was outside before is then buried."""
    brought = load.soluble + load.cellulosic + load.resistant + load.humus + load.ash
    there = (lies.organic + lies.ash).sum(1, keepdims=True)
    mean = there * lies.carbon_per_nitrogen + brought * load.carbon_per_nitrogen
    lies.carbon_per_nitrogen = np.where(brought > 0, mean / np.maximum(there + brought, TINY), lies.carbon_per_nitrogen)
    new_heat = DRY_MJ_KG_K * brought + WATER_MJ_KG_K * load.water
    heat = lies.heat_mj_k[:, SHELL:]
    lies.temp_c[:, SHELL:] = (heat * lies.temp_c[:, SHELL:] + new_heat * air_c) / (heat + new_heat)
    lies.reach = np.where(brought > 0, (there * lies.reach + brought) / np.maximum(there + brought, TINY), lies.reach)
    for name in POOLS:
        getattr(lies, name)[:, SHELL:] += getattr(load, name)
    lies.volume_m3 = lies.volume_m3 + load.volume_m3


def turn(lies: Lies, nature: Nature, which: Array, air_c: Array) -> None:
    """Forked over: all shells alike, all within reach again, looser, and cooler."""
    heat = lies.heat_mj_k
    mixed_c = (heat * lies.temp_c).sum(1, keepdims=True) / heat.sum(1, keepdims=True)
    kept_c = air_c + nature.keeps_warm * (mixed_c - air_c)
    shares = shell_shares(lies.volume_m3, nature.shell_m)
    for name in POOLS:
        all_kg = getattr(lies, name).sum(1, keepdims=True)
        setattr(lies, name, np.where(which, all_kg * shares, getattr(lies, name)))
    lies.temp_c = np.where(which, kept_c, lies.temp_c)
    lies.life = np.where(which, lies.life.mean(1, keepdims=True), lies.life)
    lies.reach = np.where(which, 1.0, lies.reach)
    dense = (lies.organic + lies.ash).sum(1, keepdims=True) / np.maximum(lies.volume_m3, TINY)
    loosens = nature.fluff * np.clip(dense / 200 - 0.4, 0, 1)
    lies.volume_m3 = lies.volume_m3 * np.where(which, 1 + loosens, 1.0)


def shell_shares(volume_m3: Array, shell_m: Array) -> Array:
    """What of a heap is core, middle and shell: balls within a ball as large as the heap."""
    radius_m = np.cbrt(np.maximum(volume_m3, 1e-6) * 3 / (4 * np.pi))
    inner = np.maximum(1 - shell_m / radius_m, 0.15)
    core = np.maximum(inner - 0.45 * inner, 0.1)
    return np.concatenate([core**3, inner**3 - core**3, 1 - inner**3], axis=1)


def bury(lies: Lies, nature: Nature) -> None:
    """As a heap grows its shell becomes its middle, and the middle its core; as it shrinks, the other way round."""
    wanted = shell_shares(lies.volume_m3, nature.shell_m)
    for outer, inner in ((SHELL, MIDDLE), (MIDDLE, CORE)):
        dry = lies.organic + lies.ash
        inside = slice(0, inner + 1)
        lacks = wanted[:, inside].sum(1) * dry.sum(1) - dry[:, inside].sum(1)
        inward = np.clip(lacks / np.maximum(dry[:, outer], TINY), 0, 0.98)
        outward = np.clip(-lacks / np.maximum(dry[:, inner], TINY), 0, 0.98)
        heat = lies.heat_mj_k
        warmth = heat * lies.temp_c
        for moved in (*(getattr(lies, name) for name in POOLS), warmth):
            flow = inward * moved[:, outer] - outward * moved[:, inner]
            moved[:, outer] -= flow
            moved[:, inner] += flow
        lies.temp_c = np.where(lies.heat_mj_k > 10 * TINY, warmth / lies.heat_mj_k, lies.temp_c)
