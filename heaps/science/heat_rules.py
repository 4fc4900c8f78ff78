"""Published rules and studies of how long a heap has to be how hot, and which of them speak of an open bay at all."""

from dataclasses import dataclass
from enum import StrEnum
from math import log10

DAY_H = 24.0


class Kind(StrEnum):
    """Whose rule it is, which decides how its outcome may be put."""

    RULE = "rule"
    GUIDELINE = "guideline"
    WEED_STUDY = "weed study"
    DISEASE_STUDY = "disease study"


@dataclass(frozen=True)
class Held:
    """So many hours at a temperature, in one unbroken stretch or `added_up`; `strictly` above it, or at it, too."""

    temp_c: float
    hours: float
    strictly: bool = False
    added_up: bool = False
    most_c: float | None = None


@dataclass(frozen=True)
class HeatRule:
    """One way of meeting a rule. Where there are several ways, each is a rule of its own.

    `inside`: hours that have to lie within the stretch of `held`. `c_to_n`: range at the start. `checked`: as in
    `sources.csv`, how the figures are known.
    """

    key: str
    kind: Kind
    open_bay: bool
    held: Held
    source: str
    checked: str
    turns: int = 0
    inside: Held | None = None
    c_to_n: tuple[float, float] | None = None


def _days(temp_c: float, days: float, **more: bool | float) -> Held:
    return Held(temp_c, days * DAY_H, **more)  # type: ignore[arg-type]  # fields of Held by name


#: Those of vessels, housed or aerated plants, where every particle is heated, never count as met in an open bay.
HEAT_RULES = (
    HeatRule("us further reduction, windrow", Kind.RULE, True, _days(55, 15), "CFR257", "read", turns=5),
    HeatRule("us further reduction, vessel or aerated", Kind.RULE, False, _days(55, 3), "CFR257", "read"),
    HeatRule(
        "us significant reduction", Kind.RULE, True, _days(40, 5), "CFR257", "read",
        inside=Held(55, 4, strictly=True, added_up=True),
    ),
    HeatRule(
        "us organic, windrow", Kind.RULE, True, Held(55, 15 * DAY_H, most_c=77), "NOP", "read (secondary)",
        turns=5, c_to_n=(25, 40),
    ),
    HeatRule(
        "us organic, vessel or aerated", Kind.RULE, False, Held(55, 3 * DAY_H, most_c=77), "NOP", "read (secondary)",
        c_to_n=(25, 40),
    ),
    HeatRule("uk catering waste, closed, 60 C", Kind.RULE, False, _days(60, 2), "ABPR-TAB", "read"),
    HeatRule("uk catering waste, closed, 70 C", Kind.RULE, False, Held(70, 1), "ABPR-TAB", "read"),
    HeatRule("uk catering waste, housed windrow", Kind.RULE, False, _days(60, 8), "ABPR-TAB", "read", turns=3),
    HeatRule(
        "uk pas 100 guideline", Kind.GUIDELINE, False, _days(65, 7, added_up=True), "PAS100",
        "from memory (medium-high)", turns=2,
    ),
    HeatRule("german, open, 55 C", Kind.RULE, True, _days(55, 14), "BIOABFV", "second hand; from memory (high)"),
    HeatRule("german, open, 65 C", Kind.RULE, True, _days(65, 7), "BIOABFV", "second hand; from memory (high)"),
    HeatRule("german, enclosed, 60 C", Kind.RULE, False, _days(60, 7), "BIOABFV", "second hand; from memory (high)"),
    HeatRule("eu product, 70 C", Kind.RULE, True, _days(70, 3), "EU1009", "from memory (high)"),
    HeatRule("eu product, 65 C", Kind.RULE, True, _days(65, 5), "EU1009", "from memory (high)"),
    HeatRule("eu product, 60 C", Kind.RULE, True, _days(60, 7), "EU1009", "from memory (high)"),
    HeatRule("eu product, 55 C", Kind.RULE, True, _days(55, 14), "EU1009", "from memory (high)"),
    HeatRule("manitoba, windrow", Kind.RULE, True, _days(55, 15), "MB-AG", "read", turns=5),
    HeatRule("manitoba, vessel", Kind.RULE, False, _days(55, 3), "MB-AG", "read"),
    HeatRule("clubroot, 50 C in flasks", Kind.DISEASE_STUDY, False, _days(50, 7), "FAYOLLE06", "abstract read"),
    HeatRule("clubroot, 60 C in flasks", Kind.DISEASE_STUDY, False, _days(60, 1), "FAYOLLE06", "abstract read"),
    HeatRule("most plant diseases", Kind.DISEASE_STUDY, False, _days(64, 21), "NOBLE04", "abstract read"),
    HeatRule(
        "tobacco mosaic virus", Kind.DISEASE_STUDY, False, Held(68, 20 * DAY_H, strictly=True), "NOBLE04",
        "abstract read",
    ),
    HeatRule("seed of 12 weeds", Kind.WEED_STUDY, True, _days(55, 28), "TOMPKINS98", "abstract read"),
    HeatRule("seed of 4 of 6 weeds", Kind.WEED_STUDY, True, _days(39, 7), "LARNEY03", "abstract read"),
)  # fmt: skip

#: Of how much of what happened to weed seed temperature gave account, least and most (LARNEY03, abstract read).
TEMPERATURE_EXPLAINED = (0.17, 0.29)

#: 40 CFR 503.32(a)(3): for sludge of 7 % solids or more, at 50 C or more and for 20 minutes or more (CFR503, read).
LEAST_CLASS_A_C, LEAST_CLASS_A_DAYS = 50.0, 20 / 60 / 24


def class_a_days(temp_c: float) -> float | None:
    """Days that the US rule for treated sludge asks for at a temperature; None below 50 C, where it says nothing.

    D = 131,700,000 / 10^(0.14 t), 20 minutes at least (CFR503, read). Every particle has to be that hot, which nothing
    shows of an open heap: it is here to set the other rules in order, and is met by none.
    """
    if temp_c < LEAST_CLASS_A_C:
        return None
    return max(10 ** (log10(131_700_000) - 0.14 * temp_c), LEAST_CLASS_A_DAYS)


@dataclass(frozen=True)
class Sensor:
    """One of fifteen sensors in a real heap: its highest reading, its longest stretch at 55 C or more, and how many of
    the 1,057 hours it has no reading of."""

    name: str
    highest_c: float
    longest_h_at_55: int
    blank_h: int


#: Reckoned from the open hourly log of a heap of 22 t of litter that lay unturned for 44 days (Kamp & Feilberg 2024, CC
#: BY 4.0, KAMP24). Where the sensors lay is not written down; the hot ones have gaps.
ONE_PROBE = (
    Sensor("T1", 28.95, 0, 0), Sensor("T2", 56.6, 179, 468), Sensor("T3", 54.42, 0, 0), Sensor("T10", 24.84, 0, 0),
    Sensor("T11", 27.67, 0, 0), Sensor("T12", 56.5, 174, 468), Sensor("T13", 55.0, 2, 0), Sensor("T20", 24.75, 0, 0),
    Sensor("T21", 29.38, 0, 0), Sensor("T22", 59.03, 114, 799), Sensor("T23", 54.52, 0, 0), Sensor("T30", 25.74, 0, 0),
    Sensor("T31", 29.9, 0, 0), Sensor("T32", 55.12, 10, 505), Sensor("T33", 55.38, 3, 0),
)  # fmt: skip
