"""What the equations of the living heap do not know for sure: each number's middle, its spread and where it is from.

A member is one possible heap: a draw of all of them. Draws take a seed; the first member is the middle of every prior.
"""

from dataclasses import dataclass, fields
from functools import lru_cache
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MEMBERS = 200
#: Of ln(value), site and heap together: 80 % lie within middle x exp(+-1.28 spread).
NORMAL_80 = 1.2816


@dataclass(frozen=True)
class Prior:
    """A lognormal number: its middle, the spread of its logarithm, and its source. `around_none`: normal about 0."""

    middle: float
    spread: float
    source: str
    around_none: bool = False

    def of(self, draws: Array) -> Array:
        """The values that standard normal draws stand for."""
        if self.around_none:
            return self.middle + self.spread * draws
        return self.middle * np.exp(self.spread * draws)


#: "tuned": set within its range so that tests/published/living.csv holds. Others name their source.
PRIORS: dict[str, Prior] = {
    "fast_per_day": Prior(0.050, 0.35, "tuned; fast pools .01 to .15 a day at 20 C (Haug 1993, from memory)"),
    "slow_per_day": Prior(0.0080, 0.35, "tuned; respirometry .002 to .015 a day (Haug 1993, from memory)"),
    "shell_factor": Prior(0.17, 0.40, "tuned to times of turned and never turned heaps"),
    "heat_mj_kg": Prior(20.0, 0.06, "20 to 23 MJ a kg of volatile solids, 14 a kg of oxygen (Haug 1993, from memory)"),
    "conductivity_w_mk": Prior(0.40, 0.30, "0.12 to 0.81 wet and dense, 0.03 to 0.30 like straw (Ahn et al. 2009)"),
    "shell_m": Prior(0.115, 0.20, "tuned, to the second reheat too"),
    "air": Prior(1.0, 0.40, "diffusion 0.4 m2/d over 0.2 m; Darcy flow at about 1e-9 m2 (reckoned, tuned)"),
    "final_m3_kg": Prior(
        1 / 200, 0.16, "dry 100 to 400 kg/m3 (Agnew & Leonard 2003, from memory); shallow bays lighter"
    ),
    "settling_per_day": Prior(0.019, 0.40, "tuned to volume curves"),
    "settling_by_loss": Prior(2.2, 0.35, "tuned to volume curves"),
    "packing": Prior(1.25, 0.10, "tuned, 1.1 to 1.4; as blend.PACKING"),
    "fluff": Prior(0.15, 0.40, "tuned, 0.09 to 0.25; as fit.FLUFFED"),
    "held_water": Prior(2.8, 0.12, "tuned to finished moisture of 60 to 65 %"),
    "weight": Prior(1.0, 0.20, "a guess: what loads weigh over what a record says"),
    "share_shift": Prior(0.0, 0.35, "of the logit of the degradable share; a guess", around_none=True),
    "breath_bar": Prior(4.4, 0.25, "16 mg CO2/g OM/d (BSI PAS 100, from memory) x 12/44; people judge by eye: learned"),
    "gone_shift": Prior(0.0, 0.5, "of the logit of ready.GONE, where people call it ready; a guess", around_none=True),
    "sieve_loss": Prior(0.15, 0.35, "from memory, tuned; measure it"),
    "swell": Prior(1.10, 0.06, "from memory, tuned; measure it"),
    "bag_fill": Prior(0.95, 0.05, "from memory, tuned; measure it"),
}


@dataclass(frozen=True, eq=False)
class Members:
    """One value of each number for every member, by the names of PRIORS; `seed` is what they were drawn with. Each
    set is itself alone, so that what was made of it can be kept."""

    seed: int
    fast_per_day: Array
    slow_per_day: Array
    shell_factor: Array
    heat_mj_kg: Array
    conductivity_w_mk: Array
    shell_m: Array
    air: Array
    final_m3_kg: Array
    settling_per_day: Array
    settling_by_loss: Array
    packing: Array
    fluff: Array
    held_water: Array
    weight: Array
    share_shift: Array
    breath_bar: Array
    gone_shift: Array
    sieve_loss: Array
    swell: Array
    bag_fill: Array

    @property
    def count(self) -> int:
        """How many members there are."""
        return len(self.weight)

    def also(self, of_what: str) -> Array:
        """Standard normal draws for one more thing that is not known well, the same whenever it is asked for."""
        return _draws(self.seed, of_what, self.count)


def drawn(seed: int, count: int = MEMBERS) -> Members:
    """Members drawn from the priors, each number by itself. The first is the middle of all."""
    return Members(seed, **{name: prior.of(_draws(seed, name, count)) for name, prior in PRIORS.items()})


def middle() -> Members:
    """The one member that has the middle of every prior."""
    return drawn(0, 1)


def only(members: Members, some: slice) -> Members:
    """Some of the members, as a set of their own. Their `also` draws are those of the first ones of all."""
    values = {one.name: getattr(members, one.name)[some] for one in fields(members) if one.name != "seed"}
    return Members(members.seed, **values)


@lru_cache(maxsize=256)
def _draws(seed: int, of_what: str, count: int) -> Array:
    """Asked for with each load, so they are kept, and nobody may write into them."""
    draws = np.random.Generator(np.random.PCG64([seed, crc32(of_what.encode())])).standard_normal(count)
    draws[:1] = 0.0
    draws.flags.writeable = False
    return draws
