"""A stretch in the life of heaps, of one day or some: rot, heat, air, drying, settling.

First-order breakdown of organic matter with corrections for temperature, moisture, nitrogen and oxygen, of the family
that a review of composting models found among the best (Mason 2006). Days, kg, MJ, metres, Celsius.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from heaps.science.living.factors import (
    core_of_ground,
    core_of_height,
    loss_mj_d_k,
    moisture_factor,
    nitrogen_factor,
    vapour_kg_m3,
)
from heaps.science.living.heating import AIR_MJ_M3_K, VAPORISING_MJ_KG, Still, rot_and_heat
from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import (
    DRY_MJ_KG_K,
    NOTHING_KG,
    WATER_MJ_KG_K,
    Heaps,
    Rows,
    free_air_space,
)

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
    """What stays as it is for as long as a heap lies there."""

    ground_m2: Array
    sides_m2_m3: Array  # of a heap that fills its ground evenly
    core_of_ground: Array

    @classmethod
    def of(cls, heaps: Heaps, members: Members) -> "Place":
        """Of each heap of a block."""
        length_m, breadth_m = heaps.length_m, heaps.breadth_m
        core = core_of_ground(length_m, breadth_m, members.shell_m)
        return cls(length_m * breadth_m, 2 * (1 / length_m + 1 / breadth_m), core)

    def some(self, rows: Rows) -> "Place":
        """Of some heaps."""
        if isinstance(rows, slice):
            return self
        return Place(self.ground_m2[rows], self.sides_m2_m3[rows], self.core_of_ground[rows])


@dataclass(frozen=True)
class _Noon:
    """Dry matter, water and room half a stretch on, if all goes on as lately: so it stands still."""

    dry_kg: Array
    water_kg: Array
    volume_m3: Array


def live(heaps: Heaps, members: Members, weather: Weather, place: Place, days: int) -> None:
    """Take heaps one stretch of so many days on, in place."""
    before, water_kg, volume_m3_kg = heaps.degradable_kg, heaps.water_kg, heaps.volume_m3_kg
    held_kg = heaps.refractory_kg + heaps.ash_kg
    noon = _noon(heaps, before + held_kg, days)
    drawn_off = rot_and_heat(heaps, _stands_still(heaps, members, weather, place, noon), days)
    left_kg = heaps.degradable_kg
    lost_kg, dry_kg = before - left_kg, left_kg + held_kg
    lost_carbon_kg = heaps.carbon_kg * lost_kg / np.maximum(NOTHING_KG, before + heaps.refractory_kg)
    heaps.lost_organic_kg += lost_kg
    heaps.lost_carbon_kg += lost_carbon_kg
    heaps.carbon_kg -= lost_carbon_kg
    _dry_and_drain(heaps, members, weather, place, _Moved(days, left_kg, dry_kg, lost_kg, drawn_off))
    _settle(heaps, members, days, lost_kg / np.maximum(NOTHING_KG, dry_kg + lost_kg / 2))
    heaps.lately_dry_kg = lost_kg / -days
    heaps.lately_water_kg = (heaps.water_kg - water_kg) / days
    heaps.lately_m3_kg = (heaps.volume_m3_kg - volume_m3_kg) / days


def _noon(heaps: Heaps, dry_kg: Array, days: int) -> _Noon:
    noon_kg = np.maximum(NOTHING_KG, dry_kg + heaps.lately_dry_kg * (days / 2))
    water_kg = np.maximum(heaps.water_kg + heaps.lately_water_kg * (days / 2), heaps.water_kg / 2)
    return _Noon(noon_kg, water_kg, (heaps.volume_m3_kg + heaps.lately_m3_kg * (days / 2)) * noon_kg)


def _stands_still(heaps: Heaps, members: Members, weather: Weather, place: Place, noon: _Noon) -> Still:
    sides_m2, organic_kg = place.sides_m2_m3 * noon.volume_m3, np.maximum(0.0, noon.dry_kg - heaps.ash_kg)
    allowed = moisture_factor(noon.water_kg / (noon.water_kg + noon.dry_kg)) * nitrogen_factor(heaps.c_to_n)
    core = place.core_of_ground * core_of_height(noon.volume_m3, place.ground_m2, members.shell_m)
    rates = np.zeros((2, 3, *allowed.shape))
    rates[0, 0], slow = members.fast_per_day * allowed, members.slow_per_day * heaps.slow_rate * allowed
    rates[1, 1] = rates[0, 0] * members.shell_factor
    rates[0, 2] = slow * core
    rates[1, 2] = slow - rates[0, 2]
    room = free_air_space(organic_kg, heaps.ash_kg, noon.water_kg, noon.volume_m3) / ROOMY
    heat_mj_k = DRY_MJ_KG_K * noon.dry_kg + WATER_MJ_KG_K * noon.water_kg
    wet = noon.water_kg / (noon.water_kg + 0.3 * noon.dry_kg)
    return Still(
        air_c=weather.air_c,
        drift_k_d=weather.drift_k_d,
        core=rates[0],
        shell=rates[1],
        flow_m2=(place.ground_m2 + 0.25 * sides_m2) * room * room * room * members.air,
        heat_k_kg=members.heat_mj_kg / heat_mj_k,
        chill_k_m3=AIR_MJ_M3_K / heat_mj_k,
        chill_k_kg=VAPORISING_MJ_KG * wet / heat_mj_k,
        leak=loss_mj_d_k(place.ground_m2, sides_m2, noon.volume_m3, members) / heat_mj_k,
        vapour_outside=AIR_HUMIDITY * float(vapour_kg_m3(np.asarray(weather.air_c))),
    )


@dataclass(frozen=True)
class _Moved:
    """What a stretch has done so far: what is left of degradable and of dry matter, what was lost, and the vapour."""

    days: int
    left_kg: Array
    dry_kg: Array
    lost_kg: Array
    drawn_off: Array


def _dry_and_drain(heaps: Heaps, members: Members, weather: Weather, place: Place, moved: _Moved) -> None:
    """Water over the stretch: the same comes each day, and of what lies there the same share dries; then it drains."""
    days, dry_kg, before_kg = moved.days, moved.dry_kg, heaps.water_kg
    sides_m2 = place.sides_m2_m3 * heaps.volume_m3_kg * dry_kg
    bare_m2 = place.ground_m2 * (1 - 0.8 * heaps.cover) + 0.05 * sides_m2
    leaves = moved.drawn_off / np.maximum(NOTHING_KG, before_kg + 0.3 * dry_kg)
    leaves += weather.evaporation_mm * days * bare_m2 / np.maximum(NOTHING_KG, before_kg + 0.8 * dry_kg)
    leaves = np.maximum(1e-12, leaves)
    rain_kg = weather.rain_mm * days * place.ground_m2 * (1 - heaps.cover) * (dry_kg > NOTHING_KG)
    made_kg = WATER_KG_KG * moved.lost_kg
    gained_kg = rain_kg + made_kg
    heaps.water_kg = before_kg + (before_kg - gained_kg / leaves) * np.expm1(-leaves)
    heaps.vapour_kg += before_kg + gained_kg - heaps.water_kg
    heaps.rain_kg += rain_kg
    heaps.made_water_kg += made_kg
    holds_kg = HELD_BY_REFRACTORY * heaps.refractory_kg + HELD_BY_ASH * heaps.ash_kg
    _drain(heaps, members.held_water * (moved.left_kg + holds_kg), before_kg, days)


def _drain(heaps: Heaps, holds_kg: Array, before_kg: Array, days: int) -> None:
    """A share of what is more than it holds runs off each day: of what was there before and of what came bit by bit."""
    of_before = np.exp(-DRAINS_A_DAY * days)
    of_new = (1 - of_before) / (DRAINS_A_DAY * days)
    too_much_kg = heaps.water_kg - holds_kg
    stays_kg = of_new * too_much_kg + (of_before - of_new) * np.maximum(0.0, before_kg - holds_kg)
    runs_kg = np.maximum(0.0, too_much_kg - np.maximum(0.0, stays_kg))
    heaps.drained_kg += runs_kg
    heaps.water_kg = heaps.water_kg - runs_kg


def _settle(heaps: Heaps, members: Members, days: int, lost_share: Array) -> None:
    """It sinks towards its final volume, faster while it rots. What lies denser already does not swell."""
    above = np.maximum(0.0, heaps.volume_m3_kg - members.final_m3_kg)
    sinks = -np.expm1(-(members.settling_per_day * days + members.settling_by_loss * lost_share))
    heaps.volume_m3_kg = heaps.volume_m3_kg - above * sinks
