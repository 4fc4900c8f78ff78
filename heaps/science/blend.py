"""The sums of a mix: dry matter, carbon and nitrogen added up, then C:N, moisture and air from these."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from heaps.science.feedstocks import Feedstock
from heaps.science.units import density_kg_m3

#: Litres as tipped for one litre in the heap, before anything has rotted: tuned to published volume curves,
#: 1.1 to 1.4. Bay marks before and after one measured load give a heap its own.
PACKING = 1.25
#: Solid densities in kg/m3 of water, organic matter and ash (Agnew & Leonard 2003; Ahn, Richard & Glanville
#: 2008; from memory, high).
WATER_KG_M3 = 1000.0
ORGANIC_KG_M3 = 1600.0
ASH_KG_M3 = 2500.0
#: Soak in and make a heap no bigger.
LIQUIDS = frozenset({"urine"})


@dataclass(frozen=True)
class Part:
    """A load of one feedstock: its wet mass, weighed or estimated, and its volume as tipped."""

    feedstock: Feedstock
    wet_kg: float
    volume_l: float


@dataclass(frozen=True)
class Mix:
    """What several loads add up to as they went in. Nothing is thought to have rotted, dried or drained.

    Ratios are None while there is nothing to divide by. `class_l` is the volume as tipped of each class.
    """

    wet_kg: float = 0.0
    dry_kg: float = 0.0
    carbon_kg: float = 0.0
    nitrogen_kg: float = 0.0
    ash_kg: float = 0.0
    tipped_l: float = 0.0
    class_l: Mapping[str, float] = field(default_factory=dict)

    @property
    def water_kg(self) -> float:
        """Water, poured on or brought in."""
        return self.wet_kg - self.dry_kg

    @property
    def c_to_n(self) -> float | None:
        """Carbon over nitrogen, each summed on dry mass: never a mean of the parts' own ratios."""
        return self.carbon_kg / self.nitrogen_kg if self.nitrogen_kg > 0 else None

    @property
    def moisture_fraction(self) -> float | None:
        """Water as a share of wet mass."""
        return self.water_kg / self.wet_kg if self.wet_kg > 0 else None

    @property
    def heap_l(self) -> float:
        """The volume of the fresh heap, less than what was tipped by PACKING."""
        return self.tipped_l / PACKING

    @property
    def solid_l(self) -> float:
        """The volume of water and solids alone, without air."""
        return _solid_m3(self.water_kg, self.dry_kg - self.ash_kg, self.ash_kg) * 1000

    @property
    def bulk_density_kg_m3(self) -> float | None:
        """Wet mass in a cubic metre of the fresh heap, denser than as tipped by PACKING."""
        return density_kg_m3(self.wet_kg, self.heap_l) if self.heap_l > 0 else None

    @property
    def free_air_space(self) -> float | None:
        """Air as a share of the volume of the fresh heap. A heap that has sunk holds less."""
        density, moisture = self.bulk_density_kg_m3, self.moisture_fraction
        if density is None or moisture is None:
            return None
        om_fraction = 1 - self.ash_kg / self.dry_kg if self.dry_kg > 0 else 0.0
        return free_air_space(density, moisture, om_fraction)

    def share_of(self, *classes: str) -> float:
        """The share, by volume as tipped, of feedstocks of these classes."""
        if self.tipped_l <= 0:
            return 0.0
        return sum(self.class_l.get(one, 0.0) for one in classes) / self.tipped_l

    def __add__(self, other: "Mix") -> "Mix":
        return Mix(
            self.wet_kg + other.wet_kg,
            self.dry_kg + other.dry_kg,
            self.carbon_kg + other.carbon_kg,
            self.nitrogen_kg + other.nitrogen_kg,
            self.ash_kg + other.ash_kg,
            self.tipped_l + other.tipped_l,
            {
                one: self.class_l.get(one, 0.0) + other.class_l.get(one, 0.0)
                for one in {**self.class_l, **other.class_l}
            },
        )


def blend(parts: Iterable[Part], added_water_kg: float = 0.0) -> Mix:
    """The mix of some loads and the water poured on them. Validity: fresh matter, as it went in.

    A feedstock of which moisture, nitrogen or ash is not in the table (none that may go in) is left out.
    """
    return sum((_of_one(part) for part in parts), Mix(wet_kg=added_water_kg))


def free_air_space(bulk_density_kg_m3: float, moisture_fraction: float, om_fraction: float) -> float:
    """The share of a heap's volume that is air; 0 when the figures leave room for none.

    `moisture_fraction` is of wet mass, `om_fraction` (organic matter) of dry mass. Agnew & Leonard 2003,
    Ahn, Richard & Glanville 2008, from memory (high); made for 100 to 900 kg/m3.
    """
    dry_fraction = 1 - moisture_fraction
    ash_kg = dry_fraction * (1 - om_fraction)
    return max(0.0, 1 - bulk_density_kg_m3 * _solid_m3(moisture_fraction, dry_fraction * om_fraction, ash_kg))


def _solid_m3(water_kg: float, organic_kg: float, ash_kg: float) -> float:
    return water_kg / WATER_KG_M3 + organic_kg / ORGANIC_KG_M3 + ash_kg / ASH_KG_M3


def _of_one(part: Part) -> Mix:
    stuff = part.feedstock
    ash_fraction = stuff.ash_fraction_dry
    if stuff.moisture_fraction is None or stuff.nitrogen_fraction_dry is None or ash_fraction is None:
        return Mix()
    volume_l = 0.0 if stuff.ash_class in LIQUIDS else part.volume_l
    dry_kg = part.wet_kg * (1 - stuff.moisture_fraction.typical)
    nitrogen_kg = dry_kg * stuff.nitrogen_fraction_dry.typical
    return Mix(
        wet_kg=part.wet_kg,
        dry_kg=dry_kg,
        # Wood ash has no C:N that means anything, and no carbon to speak of.
        carbon_kg=nitrogen_kg * stuff.c_to_n.typical if stuff.c_to_n else 0.0,
        nitrogen_kg=nitrogen_kg,
        ash_kg=dry_kg * ash_fraction,
        tipped_l=volume_l,
        class_l={stuff.ash_class: volume_l},
    )
