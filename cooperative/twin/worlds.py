"""How one world differs from another, one cooperative from the next, and one heap from its neighbours.

Worlds by seeds. `TUNED` may be looked at while the living heap is tuned, `HELD_OUT` never.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import NDArray

from heaps.science.living.parameters import Array


@dataclass(frozen=True)
class Spread:
    """A number of nature or people: its middle, and the spread of its logarithm among cooperatives and among heaps."""

    middle: float
    coops: float
    heaps: float


#: Guesses; wider than the living heap's own priors, so that it meets what it does not expect.
SPREADS: Mapping[str, Spread] = {
    "soluble_per_day": Spread(0.55, 0.30, 0.15),
    "cellulosic_per_day": Spread(0.085, 0.25, 0.15),
    "resistant_per_day": Spread(0.022, 0.30, 0.15),
    "humus_yield": Spread(0.14, 0.15, 0.05),
    "growth_per_day": Spread(3.0, 0.30, 0.20),
    "reach_days": Spread(25.0, 0.30, 0.20),
    "least_reach": Spread(0.41, 0.20, 0.10),
    "conducts_w_m_k": Spread(0.50, 0.20, 0.10),
    "shell_m": Spread(0.16, 0.15, 0.08),
    "draught": Spread(1.0, 0.30, 0.20),
    "heat_mj_kg": Spread(18.0, 0.05, 0.03),
    "stiff": Spread(1.0, 0.15, 0.08),
    "water_held": Spread(2.6, 0.12, 0.06),
    "fluff": Spread(0.25, 0.25, 0.15),
    "keeps_warm": Spread(0.55, 0.15, 0.10),
    "weighs": Spread(1.0, 0.18, 0.08),
    "packing": Spread(1.25, 0.10, 0.06),
    "rots": Spread(1.0, 0.15, 0.10),
    "eye": Spread(0.412, 0.10, 0.05),
    "sieve_loss": Spread(0.16, 0.30, 0.15),
    "swell": Spread(1.10, 0.05, 0.03),
    "bag_fill": Spread(0.95, 0.05, 0.03),
}


@dataclass(frozen=True)
class Nature:
    """One value of each number for every heap, heaps x 1."""

    soluble_per_day: Array
    cellulosic_per_day: Array
    resistant_per_day: Array
    humus_yield: Array
    growth_per_day: Array
    reach_days: Array
    least_reach: Array
    conducts_w_m_k: Array
    shell_m: Array
    draught: Array
    heat_mj_kg: Array
    stiff: Array
    water_held: Array
    fluff: Array
    keeps_warm: Array
    weighs: Array
    packing: Array
    rots: Array
    eye: Array
    sieve_loss: Array
    swell: Array
    bag_fill: Array

    def some(self, which: NDArray[np.bool_]) -> "Nature":
        """Only these heaps."""
        return Nature(**{one.name: getattr(self, one.name)[which] for one in fields(self)})


@dataclass(frozen=True)
class World:
    """A name, a seed, and what is otherwise in it than in the plain one: a factor on each number named."""

    name: str
    seed: int
    shifts: Mapping[str, float] = field(default_factory=dict)

    def random(self, *of_what: int) -> np.random.Generator:
        """Chance for one purpose, the same each time."""
        return np.random.Generator(np.random.PCG64([self.seed, *of_what]))

    def nature(self, coops: int, heaps: int) -> Nature:
        """Of so many cooperatives with so many heaps each."""
        values = {}
        for place, (name, spread) in enumerate(SPREADS.items()):
            chance = self.random(1, place)
            of_coop = np.repeat(chance.standard_normal(coops), heaps) * spread.coops
            of_heap = chance.standard_normal(coops * heaps) * spread.heaps
            middle = spread.middle * self.shifts.get(name, 1.0)
            values[name] = (middle * np.exp(of_coop + of_heap))[:, None]
        return Nature(**values)


def usual(heaps: int) -> Nature:
    """The middle of everything, so many times."""
    return Nature(**{name: np.full((heaps, 1), spread.middle) for name, spread in SPREADS.items()})


#: Looked at while tuning.
TUNED = (
    World("plain", 101),
    World("quick", 102, {"cellulosic_per_day": 1.5, "resistant_per_day": 1.5, "soluble_per_day": 1.3}),
    World("strict eye", 103, {"eye": 0.9}),
    World("loose", 104, {"stiff": 0.85, "packing": 1.1}),
    # Held out until what they showed changed how a look is learnt from:
    World("heavy", 911, {"weighs": 1.25, "shell_m": 1.2}),
    World("slow", 912, {"cellulosic_per_day": 0.7, "conducts_w_m_k": 1.25}),
    World("airy", 913, {"draught": 1.6, "soluble_per_day": 0.75, "sieve_loss": 1.4}),
    World("kind eye", 914, {"eye": 1.1, "fluff": 1.3, "least_reach": 1.3}),
    # And until what they showed changed what the date goes by, and how rule of thumb and equations are combined:
    World("thick shell", 921, {"shell_m": 1.25, "growth_per_day": 0.7}),
    World("woody", 922, {"resistant_per_day": 0.75, "rots": 0.92}),
    World("dense", 923, {"stiff": 1.15, "packing": 0.93, "weighs": 1.1}),
    World("wet", 924, {"water_held": 1.2, "cellulosic_per_day": 1.3, "draught": 0.75}),
)
#: Not looked at while tuning, each with shifts of its own.
HELD_OUT = (
    World("thin shell", 931, {"shell_m": 0.8, "humus_yield": 1.2}),
    World("slow to open", 932, {"reach_days": 1.3, "eye": 0.95}),
    World("light", 933, {"weighs": 0.85, "stiff": 0.9, "fluff": 0.8}),
    World("hasty", 934, {"soluble_per_day": 1.3, "growth_per_day": 1.3, "sieve_loss": 0.8}),
)
