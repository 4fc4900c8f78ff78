"""Where nitrogen comes from when a heap is too brown, how much of each is too much, and what to mind."""

from collections.abc import Mapping
from dataclasses import dataclass

from heaps.science.blend import Mix, Part, blend
from heaps.science.feedstocks import FEEDSTOCKS, Feedstock
from heaps.science.targets import IDEAL, MUCH_COFFEE, MUCH_GRASS

#: Fertiliser is added at a half to two thirds of what the sum says, in two goes (COR-FERT, read): it acts at once.
FERTILISER_SHARE = (1 / 2, 2 / 3)


@dataclass(frozen=True)
class NitrogenSource:
    """A feedstock that brings nitrogen. `most_share`: by volume as tipped; `most_l_per_m3`: litres to a cubic metre of
    heap. `slow`: counts little in the first year. `cautions`: parts of the guide's chapter on taking care."""

    feedstock: str
    most_share: float | None
    most_l_per_m3: float | None
    source: str
    checked: str
    cautions: tuple[str, ...] = ()
    slow: bool = False


NITROGEN_SOURCES = (
    NitrogenSource("grass-fresh", MUCH_GRASS, None, "RHS-COMP", "read: 25 to 50 % soft greens"),
    NitrogenSource("coffee", MUCH_COFFEE, None, "practice", "common practice"),
    NitrogenSource(
        "urine", None, 40, "SEI", "from memory (medium-high): fresh, 10 litres to a barrow of straw", ("hands",)
    ),
    NitrogenSource("horse-manure-straw", None, None, "RHS-MC", "read", ("raw-dung", "hands", "lifting")),
    NitrogenSource("cattle-manure", 1 / 2, None, "practice", "common practice", ("raw-dung", "hands", "lifting")),
    NitrogenSource(
        "poultry-manure",
        0.10,
        None,
        "mem-M",
        "from memory (medium): it burns and smells",
        ("dust", "raw-dung", "hands"),
    ),
    NitrogenSource("nettles", MUCH_GRASS, None, "RHS-COMP", "read: as soft greens"),
    NitrogenSource("comfrey", MUCH_GRASS, None, "RHS-COMP", "read: as soft greens"),
    NitrogenSource("seaweed", 0.25, None, "mem-M", "from memory (medium): salt", ()),
    NitrogenSource("hair", None, 10, "mem-M", "from memory (medium): a thin scatter", (), slow=True),
    NitrogenSource("wool", None, 10, "mem-M", "from memory (medium): teased out", ("animal-law",), slow=True),
    NitrogenSource("feathers", None, 10, "mem-M", "from memory (medium)", ("animal-law", "dust"), slow=True),
)


@dataclass(frozen=True)
class Enough:
    """Litres of one source that bring a mix to its C:N, and whether that is more than a heap takes."""

    source: NitrogenSource
    litres: float
    too_much: bool


def enough_of(
    source: NitrogenSource,
    mix: Mix,
    goal: float = IDEAL.c_to_n[1],
    materials: Mapping[str, Feedstock] = FEEDSTOCKS,
) -> Enough | None:
    """How much of a source brings a brown mix down to `goal`; 0 litres if it is there, None if it never does.

    Validity: all nitrogen counts alike, so of slow sources this is a floor (hair, wool: keratin rots for years).
    """
    stuff = materials[source.feedstock]
    density = stuff.density_kg_m3 or 0
    litre = blend([Part(stuff, density / 1000, 1.0)])
    brings = goal * litre.nitrogen_kg - litre.carbon_kg
    lacks = mix.carbon_kg - goal * mix.nitrogen_kg
    if brings <= 0:
        return None
    litres = max(0.0, lacks / brings)
    return Enough(source, litres, _too_much(source, mix, litres, litre))


def most_of(source: NitrogenSource, mix: Mix) -> float | None:
    """The most litres of a source, as tipped, that a heap takes beside what it has; None where no limit is known."""
    limits = []
    if source.most_l_per_m3 is not None:
        limits.append(source.most_l_per_m3 * mix.heap_l / 1000)
    if source.most_share is not None:
        there_l = mix.class_l.get(FEEDSTOCKS[source.feedstock].ash_class, 0.0)
        limits.append((source.most_share * mix.tipped_l - there_l) / (1 - source.most_share))
    return max(0.0, min(limits)) if limits else None


def _too_much(source: NitrogenSource, mix: Mix, litres: float, litre: Mix) -> bool:
    ash_class = FEEDSTOCKS[source.feedstock].ash_class
    tipped_l = mix.tipped_l + litres * litre.tipped_l
    share = (mix.class_l.get(ash_class, 0.0) + litres * litre.tipped_l) / tipped_l if tipped_l else 0.0
    over_share = source.most_share is not None and share > source.most_share
    heap_m3 = mix.heap_l / 1000
    return over_share or (source.most_l_per_m3 is not None and litres > source.most_l_per_m3 * heap_m3)
