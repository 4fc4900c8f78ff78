"""What a load brings into a living heap, member by member.

Density, moisture, nitrogen and C:N come from the one table of materials. Here stand only how quickly each class rots
(`splits.csv`) and how much the weaker figures of the table widen what is expected.
"""

import csv
from dataclasses import dataclass, fields
from functools import lru_cache
from importlib.resources import files

import numpy as np

from heaps.science.blend import LIQUIDS, Part, blend
from heaps.science.feedstocks import Feedstock
from heaps.science.living.parameters import Array, Members
from heaps.science.living.weights import weight_spread

#: Spread of the logit of a class's degradable share, by evidence (a guess).
SHARE_SPREAD = {"from memory (medium)": 0.15, "from memory (low)": 0.45}
#: A load on the scale: a spring balance is good to 2 % (common practice).
SCALE_SPREAD = 0.02
#: What lay in a bay on its first day was judged by eye: a third more or less (as forecast.GUESS).
OPENING_SPREAD = 0.30


@dataclass(frozen=True)
class Split:
    """How the organic matter of a class rots: what goes fast, what slowly, and how slowly against the common rate."""

    fast: float
    slow: float
    slow_rate: float
    source: str
    evidence: str


@dataclass(frozen=True)
class Matter:
    """Kilograms that a load brings, one value for each member, and the cubic metres it takes up as tipped."""

    fast_kg: Array
    slow_kg: Array
    refractory_kg: Array
    ash_kg: Array
    nitrogen_kg: Array
    carbon_kg: Array
    water_kg: Array
    slow_rate: float
    tipped_m3: Array

    @property
    def degradable_kg(self) -> Array:
        """What can rot at all."""
        return self.fast_kg + self.slow_kg

    @property
    def dry_kg(self) -> Array:
        """Dry matter."""
        return self.degradable_kg + self.refractory_kg + self.ash_kg


_KILOGRAMS = [one.name for one in fields(Matter) if one.name.endswith("_kg")]


def matter(part: Part, members: Members, weighed: bool = False, guessed: bool = False) -> Matter:
    """What a load of one material brings. `weighed` on a scale it is surer, `guessed` by eye less sure.

    The middle member gets just what `blend` makes of the load. Urine takes up no room.
    """
    of_a_kg = _of_a_kg(part.feedstock, members, weighed, guessed)
    masses = {name: getattr(of_a_kg, name) * part.wet_kg for name in _KILOGRAMS}
    liquid = part.feedstock.ash_class in LIQUIDS
    tipped_m3 = np.full(members.count, 0.0 if liquid else part.volume_l / 1000)
    return Matter(**masses, slow_rate=of_a_kg.slow_rate, tipped_m3=tipped_m3)


@lru_cache(maxsize=256)
def _of_a_kg(stuff: Feedstock, members: Members, weighed: bool, guessed: bool) -> Matter:
    """Loads of the same materials come each week, so what a kilogram brings is kept."""
    mix = blend([Part(stuff, 1.0, 0.0)])
    factor = _weight(stuff, members, weighed, guessed)
    organic_kg = (mix.dry_kg - mix.ash_kg) * factor
    split = SPLITS[stuff.ash_class]
    degradable = organic_kg * _degradable(split, stuff.ash_class, members)
    fast_of_degradable = split.fast / (split.fast + split.slow) if split.fast else 0.0
    return Matter(
        fast_kg=degradable * fast_of_degradable,
        slow_kg=degradable * (1 - fast_of_degradable),
        refractory_kg=organic_kg - degradable,
        ash_kg=mix.ash_kg * factor,
        nitrogen_kg=mix.nitrogen_kg * factor,
        carbon_kg=mix.carbon_kg * factor,
        water_kg=mix.water_kg * factor,
        slow_rate=split.slow_rate,
        tipped_m3=np.zeros(members.count),
    )


def _weight(stuff: Feedstock, members: Members, weighed: bool, guessed: bool) -> Array:
    if weighed:
        return np.exp(SCALE_SPREAD * members.also(f"scale {stuff.key}"))
    unsure = weight_spread(stuff) * members.also(f"density {stuff.key}")
    if guessed:
        unsure = unsure + OPENING_SPREAD * members.also("opening")
    return members.weight * np.exp(unsure)


def _degradable(split: Split, of_class: str, members: Members) -> Array:
    share = split.fast + split.slow
    if not share:
        return np.zeros(members.count)
    shift = members.share_shift + SHARE_SPREAD[split.evidence] * members.also(f"share {of_class}")
    odds = share / (1 - share) * np.exp(shift)
    return odds / (1 + odds)


def _splits() -> dict[str, Split]:
    text = files(__package__).joinpath("splits.csv").read_text(encoding="utf-8")
    return {
        row["class"]: Split(
            float(row["fast"]), float(row["slow"]), float(row["slow_rate"]), row["source"], row["evidence"]
        )
        for row in csv.DictReader(text.splitlines())
    }


SPLITS: dict[str, Split] = _splits()
