"""One day in the life of a block of heaps: rot, heat, air, drying, settling.

First-order breakdown of organic matter with corrections for temperature, moisture, nitrogen and oxygen, of the family
that a review of composting models found among the best (Mason 2006). Days, kg, MJ, metres, Celsius.
"""

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
    Evening,
    Heaps,
    free_air_space,
)

ROOMY = 0.6  # free air space at which the air flows as said; with its cube otherwise (Kozeny-Carman, from memory, high)
AIR_HUMIDITY = 0.80  # usual in the lowland United Kingdom, from memory (medium)
WATER_KG_KG = 0.55  # water made from a kg of organic matter (Haug 1993, from memory)
DRAINS_A_DAY = 0.7  # of what is more than it holds (tuned)
DRAINS_IN_HALF_A_DAY = float(-np.expm1(-DRAINS_A_DAY / 2))
HELD_BY_REFRACTORY, HELD_BY_ASH = 0.68, 0.18  # against degradable matter (tuned)


@dataclass(frozen=True)
class Weather:
    """One day's air in Celsius, rain and reference evaporation in mm; numbers, or one for each heap as a column."""

    air_c: Array | float
    rain_mm: Array | float
    evaporation_mm: Array | float


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


@dataclass(frozen=True)
class _Noon:
    """Dry matter, water and room half a day on, if all goes on as yesterday: the best guess of what holds all day."""

    dry_kg: Array
    water_kg: Array
    volume_m3: Array


def live_a_day(heaps: Heaps, members: Members, weather: Weather, place: Place) -> Evening:
    """Take every heap of the block one day on, in place."""
    before, water_kg, volume_m3_kg = heaps.degradable_kg, heaps.water_kg, heaps.volume_m3_kg
    dry_kg = before + heaps.refractory_kg + heaps.ash_kg
    drawn_off = rot_and_heat(heaps, _stands_still(heaps, members, weather, place, _at_noon(heaps, dry_kg)))
    left_kg = heaps.degradable_kg
    organic_kg = left_kg + heaps.refractory_kg
    evening_kg, lost_kg = organic_kg + heaps.ash_kg, before - left_kg
    lost_carbon_kg = heaps.carbon_kg * lost_kg / np.maximum(NOTHING_KG, organic_kg + lost_kg)
    heaps.lost_organic_kg += lost_kg
    heaps.lost_carbon_kg += lost_carbon_kg
    heaps.carbon_kg -= lost_carbon_kg
    _dry_and_drain(heaps, members, weather, place, (left_kg, evening_kg, lost_kg, drawn_off))
    _settle(heaps, members, lost_kg / np.maximum(NOTHING_KG, dry_kg - lost_kg / 2))
    heaps.lately_dry_kg = -lost_kg
    heaps.lately_water_kg = heaps.water_kg - water_kg
    heaps.lately_m3_kg = heaps.volume_m3_kg - volume_m3_kg
    return Evening(left_kg, organic_kg, evening_kg, heaps.volume_m3_kg * evening_kg)


def _at_noon(heaps: Heaps, dry_kg: Array) -> _Noon:
    noon_kg = np.maximum(NOTHING_KG, dry_kg + heaps.lately_dry_kg / 2)
    water_kg = np.maximum(heaps.water_kg + heaps.lately_water_kg / 2, heaps.water_kg / 2)
    return _Noon(noon_kg, water_kg, (heaps.volume_m3_kg + heaps.lately_m3_kg / 2) * noon_kg)


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
        core=rates[0],
        shell=rates[1],
        flow_m2=(place.ground_m2 + 0.25 * sides_m2) * room * room * room * members.air,
        heat_k_kg=members.heat_mj_kg / heat_mj_k,
        chill_k_m3=AIR_MJ_M3_K / heat_mj_k,
        chill_k_kg=VAPORISING_MJ_KG * wet / heat_mj_k,
        leak=loss_mj_d_k(place.ground_m2, sides_m2, noon.volume_m3, members) / heat_mj_k,
        vapour_outside=AIR_HUMIDITY * vapour_kg_m3(np.asarray(weather.air_c)),
    )


def _dry_and_drain(
    heaps: Heaps, members: Members, weather: Weather, place: Place, moved: tuple[Array, Array, Array, Array]
) -> None:
    """Water over the day: drains for half of it, gains and dries for all, drains for the other half."""
    left_kg, dry_kg, lost_kg, drawn_off = moved
    holds_kg = members.held_water * (left_kg + HELD_BY_REFRACTORY * heaps.refractory_kg + HELD_BY_ASH * heaps.ash_kg)
    _drain(heaps, holds_kg)
    sides_m2 = place.sides_m2_m3 * heaps.volume_m3_kg * dry_kg
    bare_m2 = place.ground_m2 * (1 - 0.8 * heaps.cover) + 0.05 * sides_m2
    leaves = drawn_off / np.maximum(NOTHING_KG, heaps.water_kg + 0.3 * dry_kg)
    leaves += weather.evaporation_mm * bare_m2 / np.maximum(NOTHING_KG, heaps.water_kg + 0.8 * dry_kg)
    leaves = np.maximum(1e-12, leaves)
    rain_kg = weather.rain_mm * place.ground_m2 * (1 - heaps.cover) * (dry_kg > NOTHING_KG)
    made_kg = WATER_KG_KG * lost_kg
    dries = -np.expm1(-leaves)
    gained_kg = rain_kg + made_kg
    after_kg = heaps.water_kg * (1 - dries) + gained_kg * dries / leaves
    heaps.vapour_kg += heaps.water_kg + gained_kg - after_kg
    heaps.rain_kg += rain_kg
    heaps.made_water_kg += made_kg
    heaps.water_kg = after_kg
    _drain(heaps, holds_kg)


def _drain(heaps: Heaps, holds_kg: Array) -> None:
    runs_kg = np.maximum(0.0, heaps.water_kg - holds_kg)
    runs_kg *= DRAINS_IN_HALF_A_DAY
    heaps.water_kg = heaps.water_kg - runs_kg
    heaps.drained_kg += runs_kg


def _settle(heaps: Heaps, members: Members, lost_share: Array) -> None:
    """It sinks towards its final volume, faster while it rots. What lies denser already does not swell."""
    above = np.maximum(0.0, heaps.volume_m3_kg - members.final_m3_kg)
    sinks = -np.expm1(-(members.settling_per_day + members.settling_by_loss * lost_share))
    heaps.volume_m3_kg = heaps.volume_m3_kg - above * sinks
