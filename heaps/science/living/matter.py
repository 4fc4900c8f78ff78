"""What a load brings into a living heap, member by member.

Density, moisture, nitrogen and C:N come from the one table of materials. Here stand only how quickly each class rots
(`splits.csv`) and how much the weaker figures of the table widen what is expected.
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np

from heaps.science.blend import LIQUIDS, Part, blend
from heaps.science.feedstocks import Feedstock
from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import (
    ASH,
    CARBON,
    DEGRADABLE_IN,
    DRY,
    FAST,
    MASSES,
    NITROGEN,
    REFRACTORY,
    SLOW,
    WATER,
    Row,
    summed,
)
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
    """Kilograms that a load brings, in rows as those of heaps, one value for each member, and the cubic metres it takes
    up as tipped. All of its fast matter is in the row of the core."""

    masses_kg: Array
    slow_rate: float
    tipped_m3: Array

    fast_kg = Row("masses_kg", FAST)
    slow_kg = Row("masses_kg", SLOW)
    refractory_kg = Row("masses_kg", REFRACTORY)
    ash_kg = Row("masses_kg", ASH)
    nitrogen_kg = Row("masses_kg", NITROGEN)
    carbon_kg = Row("masses_kg", CARBON)
    degradable_kg = Row("masses_kg", DEGRADABLE_IN)
    water_kg = Row("masses_kg", WATER)

    @property
    def dry_kg(self) -> Array:
        """Dry matter."""
        return summed(self.masses_kg[DRY])


def matter(part: Part, members: Members, weighed: bool = False, guessed: bool = False) -> Matter:
    """What a load of one material brings. `weighed` on a scale it is surer, `guessed` by eye less sure.

    The middle member gets just what `blend` makes of the load. Urine takes up no room.
    """
    of_a_kg = _of_a_kg(part.feedstock, members, weighed, guessed)
    liquid = part.feedstock.ash_class in LIQUIDS
    tipped_m3 = np.full(members.count, 0.0 if liquid else part.volume_l / 1000)
    return Matter(of_a_kg.masses_kg * part.wet_kg, of_a_kg.slow_rate, tipped_m3)


@lru_cache(maxsize=256)
def _of_a_kg(stuff: Feedstock, members: Members, weighed: bool, guessed: bool) -> Matter:
    """Loads of the same materials come each week, so what a kilogram brings is kept."""
    mix = blend([Part(stuff, 1.0, 0.0)])
    factor = _weight(stuff, members, weighed, guessed)
    organic_kg = (mix.dry_kg - mix.ash_kg) * factor
    split = SPLITS[stuff.ash_class]
    degradable = organic_kg * _degradable(split, stuff.ash_class, members)
    fast_of_degradable = split.fast / (split.fast + split.slow) if split.fast else 0.0
    masses_kg = in_rows(
        {
            FAST: degradable * fast_of_degradable,
            SLOW: degradable * (1 - fast_of_degradable),
            REFRACTORY: organic_kg - degradable,
            ASH: mix.ash_kg * factor,
            NITROGEN: mix.nitrogen_kg * factor,
            CARBON: mix.carbon_kg * factor,
            DEGRADABLE_IN: degradable,
            WATER: mix.water_kg * factor,
        }
    )
    return Matter(masses_kg, split.slow_rate, np.zeros(members.count))


def in_rows(kg: Mapping[int, Array]) -> Array:
    """Masses as they lie in heaps; nothing of those that are not named."""
    rows = np.zeros((MASSES, len(kg[FAST])))
    for row, mass_kg in kg.items():
        rows[row] = mass_kg
    return rows


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
