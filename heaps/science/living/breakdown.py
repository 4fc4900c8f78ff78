"""A stretch in the life of heaps, of one day or some: rot, heat, air, drying, settling.

First-order breakdown of organic matter with corrections for temperature, moisture, nitrogen and oxygen, of the family
that a review of composting models found among the best (Mason 2006). Days, kg, MJ, metres, Celsius.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from heaps.science.living.factors import (
    core_of_ground,
    core_of_height,
    loss_mj_d_k,
    moisture_factor,
    nitrogen_factor,
    of_air,
    shell_floor_m3,
    vapour_kg_m3,
)
from heaps.science.living.heating import AIRS_KG_M3, Still, rot_and_heat
from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import (
    COVERED,
    DRY_MJ_KG_K,
    NOTHING_KG,
    WATER_MJ_KG_K,
    Heaps,
    Rows,
    free_air_space,
)

#: Air through the heap, m a day: when cold, and more for each kelvin above the air (reckoned from diffusion and Darcy).
STILL_M_D, DRAUGHT_M_D_K = 2.0, 6.0 / 40
AIR_MJ_M3_K, VAPORISING_MJ_KG = 0.0012, 2.44  # handbooks, from memory, high
CUBE = 0.28  # of its side lies between a cube's core and its skin, as far as warmth goes (reckoned)
ROOMY = 0.6  # free air space at which the air flows as said; with its cube otherwise (Kozeny-Carman, from memory, high)
AIR_HUMIDITY = 0.80  # usual in the lowland United Kingdom, from memory (medium)
WATER_KG_KG = 0.55  # water made from a kg of organic matter (Haug 1993, from memory)
DRAINS_A_DAY = 0.7  # of what is more than it holds (tuned)
HELD_BY_REFRACTORY, HELD_BY_ASH = 0.68, 0.18  # against degradable matter (tuned)


@dataclass(frozen=True)
class Weather:
    """A day's air in Celsius, rain and reference evaporation in mm. Of some days their means, and by how much the air
    warms a day."""

    air_c: float
    rain_mm: float
    evaporation_mm: float
    drift_k_d: float = 0.0

    @classmethod
    def over(cls, days: Sequence["Weather"]) -> "Weather":
        """Some days as one."""
        if len(days) == 1:
            return days[0]
        return cls(
            sum(day.air_c for day in days) / len(days),
            sum(day.rain_mm for day in days) / len(days),
            sum(day.evaporation_mm for day in days) / len(days),
            (days[-1].air_c - days[0].air_c) / (len(days) - 1),
        )


@dataclass(frozen=True)
class Place:
    """What stays as it is for as long as a heap lies there, each of heaps x members."""

    ground_m2: Array
    sides_m2_m3: Array  # of a heap that fills its ground evenly
    breathes_m2: Array  # the ground, by how well air gets through
    breathes_m2_m3: Array  # the sides, which count a quarter
    core_of_ground: Array
    shell_floor_m3: Array
    conducts: Array
    fast_per_day: Array
    shell_per_day: Array
    slow_per_day: Array
    heat_mj_kg: Array
    held_water: Array
    final_m3_kg: Array
    settling_per_day: Array
    settling_by_loss: Array

    @classmethod
    def of(cls, heaps: Heaps, members: Members) -> "Place":
        """Of each heap of a block."""
        ground_m2, sides_m2_m3 = heaps.length_m * heaps.breadth_m, 2 * (1 / heaps.length_m + 1 / heaps.breadth_m)
        found = {
            "ground_m2": ground_m2,
            "sides_m2_m3": sides_m2_m3,
            "breathes_m2": members.air * ground_m2,
            "breathes_m2_m3": members.air * 0.25 * sides_m2_m3,
            "core_of_ground": core_of_ground(heaps.length_m, heaps.breadth_m, members.shell_m),
            "shell_floor_m3": shell_floor_m3(ground_m2, members.shell_m),
            "conducts": members.conductivity_w_mk / CUBE,
            "shell_per_day": members.fast_per_day * members.shell_factor,
        }
        alike = {one.name: getattr(members, one.name) for one in fields(cls) if one.name not in found}
        whole = {name: np.array(np.broadcast_to(value, heaps.core_c.shape)) for name, value in (found | alike).items()}
        return cls(**whole)  # whole arrays: arrays of one shape are worked on in half the time

    def some(self, rows: Rows) -> "Place":
        """Of some heaps."""
        if isinstance(rows, slice):
            return self
        return Place(**{name: value[rows] for name, value in vars(self).items()})


@dataclass(frozen=True)
class _Noon:
    """Dry matter, water and room half a stretch on, if all goes on as lately: so it stands still."""

    dry_kg: Array
    water_kg: Array
    volume_m3: Array


def live(heaps: Heaps, weather: Weather, place: Place, days: int) -> None:
    """Take heaps one stretch of so many days on, in place."""
    before, water_kg, volume_m3_kg = heaps.degradable_kg, heaps.water_kg, heaps.volume_m3_kg
    held_kg = heaps.refractory_kg + heaps.ash_kg
    noon = _noon(heaps, before + held_kg, days)
    drawn_off = rot_and_heat(heaps, _stands_still(heaps, weather, place, noon), days)
    left_kg = heaps.degradable_kg
    lost_kg, dry_kg = before - left_kg, left_kg + held_kg
    lost_carbon_kg = heaps.carbon_kg * lost_kg / np.maximum(NOTHING_KG, before + heaps.refractory_kg)
    heaps.lost_organic_kg += lost_kg
    heaps.lost_carbon_kg += lost_carbon_kg
    heaps.carbon_kg -= lost_carbon_kg
    _dry_and_drain(heaps, weather, place, _Moved(days, left_kg, dry_kg, lost_kg, drawn_off))
    _settle(heaps, place, days, lost_kg / np.maximum(NOTHING_KG, dry_kg + lost_kg / 2))
    heaps.lately_dry_kg = lost_kg / -days
    heaps.lately_water_kg = (heaps.water_kg - water_kg) / days
    heaps.lately_m3_kg = (heaps.volume_m3_kg - volume_m3_kg) / days


def _noon(heaps: Heaps, dry_kg: Array, days: int) -> _Noon:
    noon_kg = np.maximum(NOTHING_KG, dry_kg + heaps.lately_dry_kg * (days / 2))
    water_kg = np.maximum(heaps.water_kg + heaps.lately_water_kg * (days / 2), heaps.water_kg / 2)
    volume_m3 = (heaps.volume_m3_kg + heaps.lately_m3_kg * (days / 2)) * noon_kg
    return _Noon(noon_kg, water_kg, np.maximum(NOTHING_KG, volume_m3))


def _stands_still(heaps: Heaps, weather: Weather, place: Place, noon: _Noon) -> Still:
    sides_m2 = place.sides_m2_m3 * noon.volume_m3
    wet_kg = noon.water_kg + noon.dry_kg
    allowed = moisture_factor(noon.water_kg / wet_kg)
    allowed *= nitrogen_factor(heaps.c_to_n)
    rates, slow = np.empty((2, 2, *allowed.shape))
    np.multiply(place.fast_per_day, allowed, out=rates[0])
    np.multiply(place.shell_per_day, allowed, out=rates[1])
    allowed *= place.slow_per_day
    allowed *= heaps.slow_rate
    core = core_of_height(noon.volume_m3, place.shell_floor_m3)
    core *= place.core_of_ground
    np.multiply(allowed, core, out=slow[0])
    np.subtract(allowed, slow[0], out=slow[1])
    heat_mj_k = DRY_MJ_KG_K * noon.dry_kg + WATER_MJ_KG_K * noon.water_kg
    flow = _flow(heaps, place, noon)
    leak = loss_mj_d_k(1.5 * place.ground_m2 + sides_m2, noon.volume_m3, place.conducts)
    leak /= heat_mj_k
    vapours = noon.water_kg * (VAPORISING_MJ_KG / AIRS_KG_M3)
    vapours /= (noon.water_kg + 0.3 * noon.dry_kg) * heat_mj_k
    return Still(
        air_c=weather.air_c,
        drift_k_d=weather.drift_k_d,
        of_air=of_air(weather.air_c),
        rates=rates,
        slow=slow,
        flow_kg_k=flow * DRAUGHT_M_D_K,
        flow_kg=flow * STILL_M_D,
        heat_k_kg=place.heat_mj_kg / heat_mj_k,
        chill_kg=(AIR_MJ_M3_K / AIRS_KG_M3) / heat_mj_k,
        chill_k_kg_m3=vapours,
        leak=leak,
        vapour_outside=AIR_HUMIDITY * float(vapour_kg_m3(np.asarray(weather.air_c))),
    )


def _flow(heaps: Heaps, place: Place, noon: _Noon) -> Array:
    """Matter for which a metre a day of air has oxygen."""
    organic_kg = np.maximum(0.0, noon.dry_kg - heaps.ash_kg)
    room = free_air_space(organic_kg, heaps.ash_kg, noon.water_kg, noon.volume_m3)
    flow = place.breathes_m2_m3 * noon.volume_m3
    flow += place.breathes_m2
    flow *= room * room * room
    flow *= AIRS_KG_M3 / ROOMY**3
    return np.maximum(NOTHING_KG, flow, out=flow)


@dataclass(frozen=True)
class _Moved:
    """What a stretch has done so far: what is left of degradable and of dry matter, what was lost, and the vapour."""

    days: int
    left_kg: Array
    dry_kg: Array
    lost_kg: Array
    drawn_off: Array


def _dry_and_drain(heaps: Heaps, weather: Weather, place: Place, moved: _Moved) -> None:
    """Water over the stretch: the same comes each day, and of what lies there the same share dries; then it drains."""
    days, dry_kg, before_kg = moved.days, moved.dry_kg, heaps.water_kg
    leaves = moved.drawn_off / np.maximum(NOTHING_KG, before_kg + 0.3 * dry_kg)
    bare_m2 = place.sides_m2_m3 * heaps.volume_m3_kg
    bare_m2 *= dry_kg
    bare_m2 *= 0.05
    bare_m2 += place.ground_m2 * (1 - 0.8 * heaps.cover)
    bare_m2 *= weather.evaporation_mm * days
    bare_m2 /= np.maximum(NOTHING_KG, before_kg + 0.8 * dry_kg)
    leaves += bare_m2
    np.maximum(1e-12, leaves, out=leaves)
    gained_kg = WATER_KG_KG * moved.lost_kg
    heaps.made_water_kg += gained_kg
    if (heaps.cover < COVERED).any():
        rain_kg = weather.rain_mm * days * (1 - heaps.cover) * place.ground_m2 * (dry_kg > NOTHING_KG)
        heaps.rain_kg += rain_kg
        gained_kg = gained_kg + rain_kg
    water_kg = before_kg - gained_kg / leaves
    water_kg *= np.expm1(np.negative(leaves, out=leaves))
    water_kg += before_kg
    heaps.water_kg = water_kg
    heaps.vapour_kg += before_kg + gained_kg - water_kg
    holds_kg = HELD_BY_REFRACTORY * heaps.refractory_kg + HELD_BY_ASH * heaps.ash_kg
    holds_kg += moved.left_kg
    holds_kg *= place.held_water
    _drain(heaps, holds_kg, before_kg, days)


def _drain(heaps: Heaps, holds_kg: Array, before_kg: Array, days: int) -> None:
    """A share of what is more than it holds runs off each day: of what was there before and of what came bit by bit."""
    too_much_kg = heaps.water_kg - holds_kg
    if too_much_kg.max() <= 0:
        return
    of_before = np.exp(-DRAINS_A_DAY * days)
    of_new = (1 - of_before) / (DRAINS_A_DAY * days)
    stays_kg = of_new * too_much_kg + (of_before - of_new) * np.maximum(0.0, before_kg - holds_kg)
    runs_kg = np.maximum(0.0, too_much_kg - np.maximum(0.0, stays_kg))
    heaps.drained_kg += runs_kg
    heaps.water_kg = heaps.water_kg - runs_kg


def _settle(heaps: Heaps, place: Place, days: int, lost_share: Array) -> None:
    """It sinks towards its final volume, faster while it rots. What lies denser already does not swell."""
    sinks = place.settling_per_day * -days
    sinks -= place.settling_by_loss * lost_share
    sinks = np.expm1(sinks, out=sinks)
    sinks *= np.maximum(0.0, heaps.volume_m3_kg - place.final_m3_kg)
    heaps.volume_m3_kg = heaps.volume_m3_kg + sinks
