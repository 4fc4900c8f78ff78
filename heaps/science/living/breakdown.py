"""A stretch in the life of heaps, of one day or some: rot, heat, air, drying, settling.

First-order breakdown of organic matter with corrections for temperature, moisture, nitrogen and oxygen, of the family
that a review of composting models found among the best (Mason 2006). Days, kg, MJ, metres, Celsius.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import NamedTuple

import numpy as np

from heaps.science.blend import ORGANIC_KG_M3, WATER_KG_M3
from heaps.science.living.factors import (
    FILM_M2K_W,
    SATURATED_KG_K_M3,
    Air,
    moisture_factor,
    nitrogen_factor,
)
from heaps.science.living.heating import AIRS_KG_M3, Still, rot_and_heat
from heaps.science.living.parameters import Array
from heaps.science.living.place import Place
from heaps.science.living.state import DRY_MJ_KG_K, NOTHING_KG, WATER_KG_KG, WATER_MJ_KG_K, Heaps, summed

#: Air through the heap, m a day: when cold, and more for each kelvin above the air (reckoned from diffusion and Darcy).
STILL_M_D, DRAUGHT_M_D_K = 2.0, 6.0 / 40
AIR_MJ_M3_K, VAPORISING_MJ_KG = 0.0012, 2.44  # handbooks, from memory, high
AIR_HUMIDITY = 0.80  # usual in the lowland United Kingdom, from memory (medium)
DRAINS_A_DAY = 0.7  # of what is more than it holds (tuned)


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


class _Noon(NamedTuple):
    """Dry matter, water and room half a stretch on, if all goes on as lately: so it stands still."""

    dry_kg: Array
    water_kg: Array
    volume_m3: Array


class _Moved(NamedTuple):
    """What a stretch has done so far: what is left of degradable and of dry matter, what was lost, and the vapour."""

    days: int
    left_kg: Array
    dry_kg: Array
    lost_kg: Array
    drawn_off: Array


def live(heaps: Heaps, weather: Weather, place: Place, days: int) -> None:
    """Take heaps one stretch of so many days on, in place."""
    before_kg, held_kg = summed(heaps.pools_kg), place.held_kg
    noon = _noon(heaps, before_kg + held_kg, days)
    drawn_off = rot_and_heat(heaps, _stands_still(heaps, weather, place, noon), days)
    left_kg = summed(heaps.pools_kg)
    lost_kg = before_kg - left_kg
    _book(heaps, lost_kg, place.carbon_share * lost_kg)
    moved = _Moved(days, left_kg, left_kg + held_kg, lost_kg, drawn_off)
    water_kg = _drained(heaps, place, moved, _dried(heaps, weather, place, moved))
    _go_on(heaps, water_kg, _settled(heaps, place, moved), moved)


def _go_on(heaps: Heaps, water_kg: Array, volume_m3_kg: Array, moved: _Moved) -> None:
    """What there is now, and how that has changed lately."""
    lately_water_kg, lately_m3_kg, lately_dry_kg = heaps.lately
    np.subtract(water_kg, heaps.water_kg, out=lately_water_kg)
    np.subtract(volume_m3_kg, heaps.volume_m3_kg, out=lately_m3_kg)
    np.negative(moved.lost_kg, out=lately_dry_kg)
    heaps.lately /= moved.days
    heaps.water_kg, heaps.volume_m3_kg = water_kg, volume_m3_kg


def _book(heaps: Heaps, lost_kg: Array, lost_carbon_kg: Array) -> None:
    heaps.lost_organic_kg += lost_kg
    heaps.lost_carbon_kg += lost_carbon_kg
    heaps.carbon_kg -= lost_carbon_kg


def _noon(heaps: Heaps, dry_kg: Array, days: int) -> _Noon:
    water_kg, volume_m3_kg, noon_kg = heaps.lately * (days / 2)
    noon_kg += dry_kg
    np.maximum(NOTHING_KG, noon_kg, out=noon_kg)
    water_kg += heaps.water_kg
    np.maximum(water_kg, heaps.water_kg / 2, out=water_kg)
    volume_m3_kg += heaps.volume_m3_kg
    volume_m3_kg *= noon_kg
    return _Noon(noon_kg, water_kg, np.maximum(NOTHING_KG, volume_m3_kg, out=volume_m3_kg))


def _stands_still(heaps: Heaps, weather: Weather, place: Place, noon: _Noon) -> Still:
    air, (dry_kg, water_kg, volume_m3) = Air.of(weather.air_c, AIR_HUMIDITY), noon
    allowed = moisture_factor(water_kg / (water_kg + dry_kg))
    allowed *= nitrogen_factor(heaps.carbon_kg * place.full_speed)
    allowed *= air.pace
    rates, slow = np.empty((2, 2, *allowed.shape))
    np.multiply(place.fast_per_day, allowed, out=rates[0])
    np.multiply(place.shell_per_day, allowed, out=rates[1])
    allowed *= place.slow_per_day
    core = place.core_most - place.core_lacks_m3 / volume_m3
    np.maximum(core, place.core_least, out=core)
    core *= allowed
    slow[0] = core
    np.subtract(allowed, core, out=slow[1])
    heat_mj_k = DRY_MJ_KG_K * dry_kg
    heat_mj_k += WATER_MJ_KG_K * water_kg
    leak = np.cbrt(volume_m3)
    leak *= place.resists
    leak += FILM_M2K_W
    leak *= heat_mj_k
    np.divide(place.loses_mj_d_k + place.loses_mj_d_k_m3 * volume_m3, leak, out=leak)
    vapours = water_kg * (VAPORISING_MJ_KG * SATURATED_KG_K_M3 / AIRS_KG_M3)
    vapours /= (water_kg + 0.3 * dry_kg) * heat_mj_k
    flow = _flow(place, noon)
    return Still(
        air_c=weather.air_c,
        drift_k_d=weather.drift_k_d,
        air=air,
        rates=rates,
        slow=slow,
        flow_kg_k=flow * DRAUGHT_M_D_K,
        flow_kg=flow * STILL_M_D,
        heat_k_kg=place.heat_mj_kg / heat_mj_k,
        chill_kg=(AIR_MJ_M3_K / AIRS_KG_M3) / heat_mj_k,
        chill_k_kg=vapours,
        leak=leak,
    )


def _flow(place: Place, noon: _Noon) -> Array:
    """Matter for which a metre a day of air has oxygen."""
    solid_m3 = noon.dry_kg / ORGANIC_KG_M3
    solid_m3 += place.ash_over_m3
    solid_m3 += noon.water_kg / WATER_KG_M3
    solid_m3 /= noon.volume_m3
    room = np.maximum(1 - solid_m3, 0.0)
    flow = place.breathes_m3 * noon.volume_m3
    flow += place.breathes
    flow *= room * room * room
    return np.maximum(NOTHING_KG, flow, out=flow)


def _dried(heaps: Heaps, weather: Weather, place: Place, moved: _Moved) -> Array:
    """Water after the stretch: the same comes each day, and of what lies there the same share dries."""
    days, dry_kg, water_kg = moved.days, moved.dry_kg, heaps.water_kg
    leaves = moved.drawn_off / (water_kg + 0.3 * dry_kg)
    dries = place.dries_m3 * heaps.volume_m3_kg
    dries *= dry_kg
    dries += place.dries
    dries *= weather.evaporation_mm * days
    dries /= water_kg + 0.8 * dry_kg
    leaves += dries
    np.maximum(1e-12, leaves, out=leaves)
    gained_kg = WATER_KG_KG * moved.lost_kg
    if place.catches_m2.any():
        rain_kg = place.catches_m2 * (weather.rain_mm * days)
        heaps.rain_kg += rain_kg
        gained_kg += rain_kg
    dried_kg = water_kg - gained_kg / leaves
    dried_kg *= np.expm1(np.negative(leaves, out=leaves))
    dried_kg += water_kg
    gained_kg += water_kg
    gained_kg -= dried_kg
    heaps.vapour_kg += gained_kg
    return dried_kg


def _drained(heaps: Heaps, place: Place, moved: _Moved, dried_kg: Array) -> Array:
    """A share of what is more than it holds runs off each day: of what was there before and of what came bit by bit."""
    holds_kg = place.held_water * moved.left_kg
    holds_kg += place.holds_kg
    too_much_kg = dried_kg - holds_kg
    if too_much_kg.max() <= 0:
        return dried_kg
    of_before = exp(-DRAINS_A_DAY * moved.days)
    of_new = (1 - of_before) / (DRAINS_A_DAY * moved.days)
    stays_kg = of_new * too_much_kg + (of_before - of_new) * np.maximum(0.0, heaps.water_kg - holds_kg)
    runs_kg = np.maximum(0.0, too_much_kg - np.maximum(0.0, stays_kg))
    heaps.drained_kg += runs_kg
    left_kg: Array = dried_kg - runs_kg
    return left_kg


def _settled(heaps: Heaps, place: Place, moved: _Moved) -> Array:
    """Its volume after the stretch: it sinks towards its final one, faster while it rots. What lies denser already does
    not swell."""
    lost_share = moved.lost_kg / (moved.dry_kg + moved.lost_kg / 2)
    lost_share *= place.settling_by_loss
    lost_share += place.settling_per_day * moved.days
    sinks = np.expm1(np.negative(lost_share, out=lost_share))
    sinks *= np.maximum(0.0, heaps.volume_m3_kg - place.final_m3_kg)
    sinks += heaps.volume_m3_kg
    return sinks
