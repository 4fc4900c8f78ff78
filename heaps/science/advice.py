"""The one thing a heap needs next, as a code and a number of containers; the words are the page's."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from math import ceil

from heaps.science.blend import Mix, Part, blend
from heaps.science.feedstocks import Feedstock
from heaps.science.targets import (
    ACCEPTABLE,
    DRY_SQUEEZES,
    IDEAL,
    LEAST_AIR,
    LEFT_ALONE,
    MOST_AT_ONCE,
    MUCH_COFFEE,
    MUCH_GRASS,
    WET_SQUEEZE,
    as_felt,
)

#: C:N below which nitrogen leaves as ammonia (COR-MIX, read: below 20), and the aim (COR-CN, read: about 30).
RICH_C_TO_N, BROWN_C_TO_N = LEFT_ALONE.c_to_n
AIM_C_TO_N = 30.0
#: Far above the C:N at which a heap idles, greens bring the water too.
ALL_BROWN_C_TO_N = 80.0  # common practice
#: Browns for drying stop here, well short of too brown.
ENOUGH_BROWN_C_TO_N = ACCEPTABLE.c_to_n[1]
#: Moisture: what is left alone; drying aims at the upper ideal.
DRY_MOISTURE, WET_MOISTURE = LEFT_ALONE.moisture
AIM_MOISTURE = IDEAL.moisture[1]
#: Turn above 65 C (COR-PHYS, read); turn and wet before 70 C, above 80 C do not open it (SURREY, read).
HOT_C, VERY_HOT_C, FIRE_C = 65.0, 70.0, 80.0
#: A third of soil by volume is four fifths by dry weight (from the bulk densities in the table).
MOSTLY_SOIL, MOSTLY_ROTTED, LEAVES_ALONE = 1 / 3, 0.60, 0.80
SOIL = ("soil", "potting", "eggshell", "wood ash")
ROTTED = ("compost", "leaf mould")
LEAVES = ("leaves soft", "leaves mixed", "leaves tough")
#: How long a reading speaks for a heap: probes are read weekly (SURREY, read), with a week's grace.
READING_DAYS = 14


class Code(StrEnum):
    """What a heap needs. A page has one line of plain words for each."""

    EMPTY = "empty"  # nothing lies here
    FIRE = "fire"  # 80 C or more: do not open it, keep away, fire service
    VERY_HOT = "very hot"  # 70 C or more: turn it and wet it today
    HOT = "hot"  # over 65 C: turn it
    READY = "ready"  # said to be ready: sieve it, bag it
    SOIL = "soil"  # mostly soil or ash: it will not compost
    ROTTED = "rotted"  # mostly finished compost: it does not heat
    LEAVES = "leaves"  # leaves alone: keep them damp and wait
    BROWNS = "browns"  # too rich or too wet: mix in dry browns
    SOAKED_BROWNS = "soaked browns"  # too rich, yet dry: soak the browns first
    COVER = "cover"  # wet, but browns enough: fork it loose and keep the rain off
    WATER = "water"  # too dry
    GREENS = "greens"  # too brown
    GREENS_AND_WATER = "greens and water"  # brown and dry throughout
    STRUCTURE = "structure"  # packs down: fork twigs or chips through
    FULL = "full"  # full: close it and feed the next
    REST = "rest"  # maturing: leave it be
    NOTHING = "nothing"  # balanced


#: Needs that ask nobody to do anything.
AT_REST = frozenset({Code.EMPTY, Code.LEAVES, Code.REST, Code.NOTHING})


@dataclass(frozen=True)
class Need:
    """One need. `containers` of the usual brown, where browns are needed and can help; `more` when that many
    are only a start."""

    code: Code
    containers: int | None = None
    more: bool = False


@dataclass(frozen=True)
class Signs:
    """What was last seen of a heap: squeeze test, fill in per cent, core in Celsius; None if not seen."""

    squeeze: str | None = None
    fill_per_cent: float | None = None
    temp_c: float | None = None


def need(mix: Mix | None, signs: Signs, stage: str, brown: Feedstock | None = None, container_l: float = 0.0) -> Need:
    """What a heap needs most, as an experienced composter would rank it: danger, then what it is, then wet,
    dry, brown, airless. The hand is trusted before the sums. Leave out readings that `still_counts` denies.
    """
    if mix is None or mix.dry_kg <= 0:
        return Need(Code.EMPTY)
    first = _danger(signs) or _past_feeding(signs, stage) or _of_its_own_kind(mix, signs)
    if first:
        return Need(first)
    if _wants_browns(mix, signs):
        return _browns(mix, signs, brown, container_l)
    return Need(_of_a_mix(mix, signs, stage))


def still_counts(read_at: datetime, now: datetime, turned_at: datetime | None) -> bool:
    """Whether a reading still speaks for a heap: it is recent and the heap has not been turned since."""
    turned_since = turned_at is not None and turned_at >= read_at
    return now - read_at <= timedelta(days=READING_DAYS) and not turned_since


def own_kind(mix: Mix) -> Code | None:
    """What a heap is that is no mix of greens and browns, and asks for neither: soil, compost, leaves alone."""
    if mix.share_of(*SOIL) >= MOSTLY_SOIL:
        return Code.SOIL
    if mix.share_of(*ROTTED) >= MOSTLY_ROTTED:
        return Code.ROTTED
    return Code.LEAVES if mix.share_of(*LEAVES) >= LEAVES_ALONE else None


def browns_enough(mix: Mix) -> bool:
    """Whether more browns would only stall it: if such a heap is wet, the rain is kept off and it drains."""
    return (mix.c_to_n or 0.0) >= ENOUGH_BROWN_C_TO_N and not _airless(mix)


def times_to_c_to_n(mix: Mix, unit: Mix, goal: float) -> float | None:
    """How many times `unit` brings `mix` up to a C:N; 0 if it is there, None if `unit` never brings it."""
    return _times(goal * mix.nitrogen_kg - mix.carbon_kg, unit.carbon_kg - goal * unit.nitrogen_kg)


def times_to_moisture(mix: Mix, unit: Mix, goal: float) -> float | None:
    """How many times `unit` dries `mix` down to a moisture; 0 if it is there, None if `unit` is too wet."""
    return _times(mix.water_kg - goal * mix.wet_kg, goal * unit.wet_kg - unit.water_kg)


def times_to_air(mix: Mix, unit: Mix, goal: float) -> float | None:
    """How many times `unit` opens `mix` to a free air space; 0 if it is there, None if `unit` packs too."""
    filled = 1 - goal
    return _times(mix.solid_l - filled * mix.heap_l, filled * unit.heap_l - unit.solid_l)


def _times(lacks: float, brings: float) -> float | None:
    if lacks <= 0:
        return 0.0
    return lacks / brings if brings > 0 else None


def _danger(signs: Signs) -> Code | None:
    temp_c = signs.temp_c
    if temp_c is None or temp_c <= HOT_C:
        return None
    if temp_c >= FIRE_C:
        return Code.FIRE
    return Code.VERY_HOT if temp_c >= VERY_HOT_C else Code.HOT


def _past_feeding(signs: Signs, stage: str) -> Code | None:
    """Ready and maturing heaps: the sums of what went in say nothing about them any more."""
    if stage == "ready":
        return Code.READY
    if stage != "maturing":
        return None
    if signs.squeeze in DRY_SQUEEZES:
        return Code.WATER
    return Code.COVER if signs.squeeze == WET_SQUEEZE else Code.REST


def _of_its_own_kind(mix: Mix, signs: Signs) -> Code | None:
    kind = own_kind(mix)
    return Code.WATER if kind is Code.LEAVES and _dry(mix, signs) else kind


def _wet(mix: Mix, signs: Signs) -> bool:
    return signs.squeeze == WET_SQUEEZE if signs.squeeze else (mix.moisture_fraction or 0.0) > WET_MOISTURE


def _dry(mix: Mix, signs: Signs) -> bool:
    if signs.squeeze:
        return signs.squeeze in DRY_SQUEEZES
    return (mix.moisture_fraction or 0.0) < DRY_MOISTURE


def _airless(mix: Mix) -> bool:
    return (mix.free_air_space if mix.free_air_space is not None else 1.0) < LEAST_AIR


def _wants_browns(mix: Mix, signs: Signs) -> bool:
    """Too rich; or wet, unless it holds browns enough and air already."""
    return (mix.c_to_n or 0.0) < RICH_C_TO_N or (_wet(mix, signs) and not browns_enough(mix))


def _browns(mix: Mix, signs: Signs, brown: Feedstock | None, container_l: float) -> Need:
    dry = _dry(mix, signs)
    code = Code.SOAKED_BROWNS if dry else Code.BROWNS
    unit = _container_of(brown, container_l)
    times = _times_of(unit, mix, signs) if unit else None
    if times is None:
        return Need(code)
    containers = max(1, ceil(times - 1e-9))
    return Need(code, min(containers, MOST_AT_ONCE), more=containers > MOST_AT_ONCE)


def _container_of(brown: Feedstock | None, container_l: float) -> Mix | None:
    if brown is None or brown.density_kg_m3 is None or container_l <= 0:
        return None
    return blend([Part(brown, container_l * brown.density_kg_m3 / 1000, container_l)])


def _times_of(unit: Mix, mix: Mix, signs: Signs) -> float | None:
    """Enough for C:N, moisture and air, whichever needs most; but drying stops short of too brown, because two
    materials seldom meet both aims (the example of COR-CN)."""
    aims = [times_to_c_to_n(mix, unit, AIM_C_TO_N)]
    if _wet(mix, signs):
        felt = as_felt(mix, signs.squeeze)
        enough = times_to_c_to_n(mix, unit, ENOUGH_BROWN_C_TO_N)
        drying = [times_to_moisture(felt, unit, AIM_MOISTURE), enough]
        aims.append(min((times for times in drying if times is not None), default=None))
        aims.append(times_to_air(felt, unit, LEAST_AIR))
    known = [times for times in aims if times is not None]
    return max(known) if len(known) == len(aims) else None


def _of_a_mix(mix: Mix, signs: Signs, stage: str) -> Code:
    c_to_n = mix.c_to_n or 0.0
    if _wet(mix, signs):
        return Code.COVER
    if c_to_n > ALL_BROWN_C_TO_N and _dry(mix, signs):
        return Code.GREENS_AND_WATER
    if _dry(mix, signs):
        return Code.WATER
    if c_to_n > BROWN_C_TO_N:
        return Code.GREENS
    if mix.share_of("coffee") > MUCH_COFFEE or mix.share_of("grass") > MUCH_GRASS or _airless(mix):
        return Code.STRUCTURE
    full = signs.fill_per_cent is not None and signs.fill_per_cent >= 100 and stage == "filling"
    return Code.FULL if full else Code.NOTHING
