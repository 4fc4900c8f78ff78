"""The material table: what each feedstock is made of, whether it may go in, and the figures' sources."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files

#: Ash as a share of dry matter, by class: the only figure that goes by class and not by feedstock.
ASH_FRACTION_DRY: dict[str, float] = {
    "kitchen": 0.10,  # NRAES54-A1 type tables, from memory (medium), rounded; so are the ten lines below
    "grass": 0.11,
    "soft green": 0.15,
    "manure": 0.15,
    "coffee": 0.03,
    "woody": 0.04,
    "cardboard": 0.08,
    "straw": 0.08,
    "leaves soft": 0.12,
    "leaves mixed": 0.10,
    "leaves tough": 0.08,
    "paper": 0.12,  # fillers in office paper and newsprint, from memory (low)
    "seaweed": 0.30,  # salt and sand, from memory (low)
    "urine": 0.25,  # salts in the dried solids, from memory (medium)
    "keratin": 0.03,  # hair, wool, feathers, from memory (low)
    "compost": 0.50,  # garden compost 40-60 %, from memory (medium)
    "leaf mould": 0.30,  # from memory (low)
    "oversize": 0.15,  # wood with some compost on it, from memory (low)
    "potting": 0.35,  # from memory (low)
    "soil": 0.92,  # 4.8 % carbon of dry matter is about 8 % organic matter (C x 1.7, from memory, high)
    "eggshell": 0.94,  # from memory (high)
    "wood ash": 0.97,  # from memory (high)
}

#: What may be done with a material at the gate, from the mildest to the strictest.
STRICTNESS = ("yes", "with care", "treat first", "never")

#: Carbon that plant matter can hold, per cent of dry matter: a little wider than the table's plant rows.
PLANT_CARBON_PER_CENT = (27.0, 60.0)
#: Not plant matter, or mixed with soil, so the range above does not apply. Minerals are exempt as a group.
NOT_PLAIN_PLANT = frozenset({"urine", "compost", "leaf-mould", "eggshells", "hair", "wool", "feathers"})


@dataclass(frozen=True)
class Value:
    """One figure: low, typical and high, the sources it rests on, and how good the evidence is.

    One of a cooperative's own has its reason for source, "own" for evidence, and beside it the one it stands for.
    """

    low: float
    typical: float
    high: float
    source: str
    evidence: str
    published: "Value | None" = None


@dataclass(frozen=True)
class Source:
    """A published source, where it can be found, and what of it was read and what recalled."""

    id: str
    citation: str
    where: str
    checked: str


@dataclass(frozen=True)
class Feedstock:
    """One material. Fractions are of wet mass (moisture) or of dry mass; a figure nobody has given is None.

    `instead` says what to do instead, or how to prepare it; it is empty where nothing is needed.
    """

    key: str
    name: str
    short: str
    group: str
    ash_class: str
    moisture_fraction: Value | None
    nitrogen_fraction_dry: Value | None
    c_to_n: Value | None
    bulk_density_kg_m3: Value | None
    lignin_fraction_vs: Value | None
    acceptance: str
    reason: str
    instead: str
    acceptance_source: str

    @property
    def ash_fraction_dry(self) -> float | None:
        """Ash as a share of dry matter, by class; None for what never goes in."""
        return ASH_FRACTION_DRY.get(self.ash_class)

    @property
    def biodegradable_fraction(self) -> float | None:
        """The share of organic matter that can rot, by its lignin; None where nobody has given a figure."""
        return biodegradable_fraction(self.lignin_fraction_vs.typical) if self.lignin_fraction_vs else None

    @property
    def density_kg_m3(self) -> int | None:
        """The typical bulk density as tipped, a whole number."""
        return int(self.bulk_density_kg_m3.typical) if self.bulk_density_kg_m3 else None


def wet_g(feedstock_key: str, volume_ml: int) -> int:
    """Grams in so many millilitres as tipped, from the typical bulk density; whole numbers, half up."""
    density = FEEDSTOCKS[feedstock_key].density_kg_m3
    if density is None:
        raise ValueError(f"{feedstock_key} is never taken, so its bulk density is not in the table")
    return grams(volume_ml, density)


def grams(volume_ml: int, density_kg_m3: int) -> int:
    """Grams in so many millilitres at a bulk density; whole numbers, half up."""
    return (volume_ml * density_kg_m3 + 500) // 1000


def biodegradable_fraction(lignin_fraction_vs: float) -> float:
    """The share of organic matter that can rot: 0.830 - 0.028 times the per cent of lignin in it, never below nothing.

    Chandler et al. 1980 (COR-LIG, TCH93, from memory, high). Made for digestion without air: it ranks materials and
    serves a first season. Of oak leaves at 25 % lignin it gives 0.13, of which 0.38 was gone in two years (NUTNET).
    """
    return max(0.0, 0.830 - 2.8 * lignin_fraction_vs)


def strictness(acceptance: str) -> int:
    """How strict an acceptance is: the higher, the stricter."""
    return STRICTNESS.index(acceptance)


def cited(text: str) -> tuple[Source, ...]:
    """The sources that a `source` text names by their ids, in its order."""
    words = re.findall(r"[\w-]+", text)
    return tuple(SOURCES[word] for word in dict.fromkeys(words) if word in SOURCES)


def carbon_warning(nitrogen_fraction: float, c_to_n: float, group: str, key: str = "") -> str | None:
    """A warning when nitrogen times C:N gives plant matter a share of carbon that no plant has.

    Such a pair comes from averages over different samples. Minerals, liquids and animal fibres are exempt.
    """
    low, high = PLANT_CARBON_PER_CENT
    carbon_per_cent = nitrogen_fraction * c_to_n * 100
    if group == "mineral" or key in NOT_PLAIN_PLANT or low <= carbon_per_cent <= high:
        return None
    return f"nitrogen times C:N gives {carbon_per_cent:.0f} % carbon; plants hold {low:.0f} to {high:.0f} %"


def _rows(file_name: str) -> Iterator[dict[str, str]]:
    text = files(__package__).joinpath(file_name).read_text(encoding="utf-8")
    yield from csv.DictReader(text.splitlines())


def _value(row: dict[str, str], column: str, scale: float = 1.0) -> Value | None:
    if not row[f"{column}_typical"]:
        return None
    low, typical, high = (float(row[f"{column}_{end}"]) / scale for end in ("low", "typical", "high"))
    return Value(low, typical, high, row[f"{column}_source"], row[f"{column}_evidence"])


def _feedstock(row: dict[str, str]) -> Feedstock:
    return Feedstock(
        key=row["key"],
        name=row["name"],
        short=row["short"],
        group=row["group"],
        ash_class=row["ash_class"],
        moisture_fraction=_value(row, "moisture_pct", 100),
        nitrogen_fraction_dry=_value(row, "nitrogen_pct", 100),
        c_to_n=_value(row, "c_to_n"),
        bulk_density_kg_m3=_value(row, "bulk_density_kg_m3"),
        lignin_fraction_vs=_value(row, "lignin_pct", 100),
        acceptance=row["acceptance"],
        reason=row["reason"],
        instead=row["instead"],
        acceptance_source=row["acceptance_source"],
    )


SOURCES: dict[str, Source] = {row["id"]: Source(**row) for row in _rows("sources.csv")}
FEEDSTOCKS: dict[str, Feedstock] = {row["key"]: _feedstock(row) for row in _rows("materials.csv")}
