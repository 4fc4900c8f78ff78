"""How well the weight of a load is known that nobody put on a scale, and which material is worth weighing next."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import log

from heaps.science.feedstocks import Feedstock

#: Spread of ln(weight of a container) that one material's density adds, by evidence (a guess; ten weighed buckets end
#: it).
DENSITY_SPREAD = {
    "read": 0.08,
    "read in part": 0.10,
    "from memory (high)": 0.10,
    "from memory (medium)": 0.15,
    "from memory (low)": 0.30,
    "own": 0.05,
}
#: The table's low and high are taken for what 95 of 100 places find, so they lie so many spreads apart (a guess).
LOW_TO_HIGH = 2 * 1.96
#: How full containers come at a place against what is recorded: its part of the prior `weight` (a guess).
FULLNESS = 0.15
#: One bucket from the next (a guess), and how many are weighed.
BUCKET_SPREAD, BUCKETS = 0.15, 10


@dataclass(frozen=True)
class Weighing:
    """A material, the spread of a year's kilograms as it stands (kg), and once ten of its containers were weighed."""

    feedstock: str
    doubt_kg: float
    doubt_after_kg: float


def weight_spread(stuff: Feedstock) -> float:
    """The spread of ln(weight) of a container of one material that nobody has weighed, by how good the source is."""
    density = stuff.bulk_density_kg_m3
    return DENSITY_SPREAD.get(density.evidence, max(DENSITY_SPREAD.values())) if density else 0.0


def spread_between_places(stuff: Feedstock) -> float:
    """The same for a cooperative's own buckets against the table's: no less than what low and high of the table say."""
    density = stuff.bulk_density_kg_m3
    if density is None or density.evidence == "own":
        return weight_spread(stuff)
    return max(weight_spread(stuff), log(density.high / density.low) / LOW_TO_HIGH)


def weigh_next(estimated_kg: Mapping[Feedstock, float]) -> tuple[Weighing, ...]:
    """Which material's weight matters most to a year's sums, of kilograms that were only estimated; the best first.

    Ten full containers on the scale end the doubt about the material and about how full its containers come.
    """
    now = _doubt_kg(estimated_kg, weighed=None)
    found = [Weighing(stuff.key, now, _doubt_kg(estimated_kg, weighed=stuff)) for stuff in estimated_kg]
    return tuple(sorted(found, key=lambda one: (one.doubt_after_kg, one.feedstock)))


def _doubt_kg(estimated_kg: Mapping[Feedstock, float], weighed: Feedstock | None) -> float:
    """Fullness goes for all together, each material's density by itself."""
    by_eye = {stuff: kg for stuff, kg in estimated_kg.items() if stuff is not weighed}
    ten_kg = estimated_kg[weighed] * BUCKET_SPREAD / BUCKETS**0.5 if weighed else 0.0
    apart = sum((kg * spread_between_places(stuff)) ** 2 for stuff, kg in by_eye.items())
    return float(((FULLNESS * sum(by_eye.values())) ** 2 + apart + ten_kg**2) ** 0.5)
