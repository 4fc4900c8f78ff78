"""What becomes of a heap by equations of another kind than the living heap's: finer, and with none of them shared.

Hour by hour; three shells, one within the other, with conduction between them; four pools of matter; a temperature with
three cardinal points; life that has to grow first; matter that gets out of reach between turns; a shell that is buried
as the heap grows; settling under its own weight; oxygen that each shell leaves to the next. Only the balances of mass
and heat are those of the living heap, because they are nature's.

The numbers are from memory of the literature on composting, set by published times (tests/cooperative/twin) and then
left alone.
"""

from dataclasses import dataclass

import numpy as np

from cooperative.twin.lies import CORE, MIDDLE, SHELL, TINY, Lies, bury
from cooperative.twin.worlds import Nature
from heaps.science.living.parameters import Array

HOURS = 24
HOUR = 1 / HOURS
#: Below it nothing lives, above it nothing does, and where it is best (Rosso et al. 1993 for the shape).
COLDEST_C, BEST_C, HOTTEST_C = -5.0, 53.0, 71.0
ORGANIC_KG_M3, ASH_KG_M3, WATER_KG_M3 = 1550.0, 2600.0, 1000.0
OXYGEN_KG_KG, OXYGEN_KG_M3 = 1.35, 0.28
LATENT_MJ_KG, AIR_MJ_M3_K = 2.45, 0.0012
FILM_W_M2_K, W_M2_K_IN_MJ_D = 9.0, 0.0864
MADE_WATER_KG_KG = 0.5


@dataclass(frozen=True)
class Day:
    """The weather over each heap: mean air, how far noon is over it, rain and evaporation in mm."""

    air_c: Array
    swing_k: Array
    rain_mm: Array
    evaporation_mm: Array


def live_a_day(lies: Lies, nature: Nature, day: Day, covered: Array) -> None:
    """Twenty-four hours, then what settles and what runs out."""
    bury(lies, nature)
    before = lies.organic.sum(1, keepdims=True)
    place = _Place.of(lies, nature)
    for hour in range(HOURS):
        air_c = day.air_c + day.swing_k * np.sin(2 * np.pi * (hour - 9) / HOURS)
        _live_an_hour(lies, nature, place, air_c)
    _wet_and_dry(lies, nature, day, covered)
    _settle(lies, nature, before)
    lies.reach = nature.least_reach + (lies.reach - nature.least_reach) * np.exp(-1 / nature.reach_days)


@dataclass(frozen=True)
class _Place:
    """What is taken to stand still for a day."""

    conducts: Array  # MJ a day and K: core to middle, middle to shell, shell to air
    flow_m3: Array
    allowed: Array

    @classmethod
    def of(cls, lies: Lies, nature: Nature) -> "_Place":
        volume = np.maximum(lies.volume_m3, 1e-6)
        radius = np.cbrt(volume * 3 / (4 * np.pi))
        inner = np.maximum(radius - nature.shell_m, 0.15 * radius)
        core = 0.55 * inner
        areas = 4 * np.pi * np.concatenate([core**2, inner**2], axis=1)
        apart = np.concatenate([inner, radius - core], axis=1) / 2  # from the midst of one shell to that of the next
        between = nature.conducts_w_m_k * areas / np.maximum(apart, 0.03)
        thick = np.maximum(radius - inner, 0.02)
        outside = 4 * np.pi * radius**2 / (1 / FILM_W_M2_K + 0.5 * thick / nature.conducts_w_m_k)
        solid = (lies.organic / ORGANIC_KG_M3 + lies.ash / ASH_KG_M3 + lies.water / WATER_KG_M3).sum(1, keepdims=True)
        pores = np.clip(1 - solid / volume, 0.02, 0.95)
        cn_brake = 1 / (1 + (np.maximum(lies.carbon_per_nitrogen - 28, 0) / 45) ** 2)
        wet = lies.water / np.maximum(lies.water + lies.organic + lies.ash, TINY)
        damp = np.clip((wet - 0.18) / 0.34, 0.0, 1.0) ** 1.5
        return cls(
            conducts=W_M2_K_IN_MJ_D * np.concatenate([between, outside], axis=1),
            flow_m3=nature.draught * (lies.ground_m2 + 0.3 * volume ** (2 / 3)) * (pores / 0.55) ** 2.5,
            allowed=damp * cn_brake,
        )


def _live_an_hour(lies: Lies, nature: Nature, place: _Place, air_c: Array) -> None:
    warm = _cardinal(lies.temp_c)
    pace = warm * place.allowed
    quick, slow = nature.soluble_per_day * lies.life * pace, lies.life * lies.reach * pace
    wanted = quick * lies.soluble + slow * (
        nature.cellulosic_per_day * lies.cellulosic + nature.resistant_per_day * lies.resistant
    )
    flow = place.flow_m3 * (1.6 + 0.11 * np.maximum(lies.temp_c[:, :1] - air_c, 0))
    oxygen = _left_to_each(OXYGEN_KG_KG * wanted, OXYGEN_KG_M3 * flow)
    lost = _rot(lies, nature, quick * oxygen, slow * oxygen)
    fed = lies.soluble + 0.4 * lies.cellulosic * lies.reach
    holds = 0.15 + 0.85 * fed / (fed + 0.06 * np.maximum(lies.organic, TINY))
    grows = nature.growth_per_day * (0.08 + warm) * oxygen * np.minimum(place.allowed * 3, 1)
    lies.life = np.clip(lies.life * np.exp(HOUR * grows * (1 - lies.life / holds)), 0.02, 1.0)
    _heat(lies, nature, place, air_c, (flow, lost))


def _rot(lies: Lies, nature: Nature, quick: Array, slow: Array) -> Array:
    """What each shell loses in an hour, kg; a part of what was tough stays as humus."""
    gone_soluble = lies.soluble * -np.expm1(-HOUR * quick)
    gone_cellulosic = lies.cellulosic * -np.expm1(-HOUR * nature.cellulosic_per_day * slow)
    gone_resistant = lies.resistant * -np.expm1(-HOUR * nature.resistant_per_day * slow)
    humus = nature.humus_yield * (gone_cellulosic + gone_resistant)
    lies.soluble -= gone_soluble
    lies.cellulosic -= gone_cellulosic
    lies.resistant -= gone_resistant
    lies.humus += humus
    lost: Array = gone_soluble + gone_cellulosic + gone_resistant - humus
    lies.water += MADE_WATER_KG_KG * lost
    return lost


def _heat(lies: Lies, nature: Nature, place: _Place, air_c: Array, moved: tuple[Array, Array]) -> None:
    """Rot warms; conduction, draught and vapour, which the next shell gets back in part, cool."""
    flow, lost = moved
    heat_mj_k = lies.heat_mj_k
    around = np.concatenate([lies.temp_c[:, 1:], air_c], axis=1)
    outward = lies.temp_c - around
    neighbours = np.minimum(heat_mj_k, np.concatenate([heat_mj_k[:, 1:], heat_mj_k[:, 2:]], axis=1))
    through = np.minimum(place.conducts * HOUR, 0.25 * neighbours) * outward  # an hour never overshoots
    damp = np.concatenate([_vapour(lies.temp_c), 0.8 * _vapour(air_c)], axis=1)
    holds = lies.water / (lies.water + 0.25 * (lies.organic + lies.ash) + TINY)
    vapour = np.minimum(HOUR * flow * np.maximum(damp[:, :3] - damp[:, 1:], 0) * holds, 0.2 * lies.water)
    draws = np.minimum(AIR_MJ_M3_K * flow * HOUR, 0.2 * heat_mj_k) * outward
    gains = nature.heat_mj_kg * lost - through - LATENT_MJ_KG * vapour - draws
    gains[:, 1:] += through[:, :2]
    lies.temp_c = np.clip(lies.temp_c + gains / heat_mj_k, -5.0, 85.0)
    lies.water -= vapour


def _left_to_each(wanted: Array, brought: Array) -> Array:
    """Air comes in from outside: each shell breathes what the one around it has left. How far that lets it rot."""
    left = np.ones_like(brought)
    factor = np.empty_like(wanted)
    for shell in (SHELL, MIDDLE, CORE):
        want = wanted[:, shell : shell + 1]
        left = left / (1 + want / np.maximum(brought, TINY))
        factor[:, shell : shell + 1] = left * 1.06 / (left + 0.06)
    return factor


def _cardinal(temp_c: Array) -> Array:
    over, under = temp_c - COLDEST_C, temp_c - HOTTEST_C
    width = BEST_C - COLDEST_C
    below = width * (width * (temp_c - BEST_C) - (BEST_C - HOTTEST_C) * (BEST_C + COLDEST_C - 2 * temp_c))
    share: Array = np.where((over > 0) & (under < 0), under * over * over / np.where(below == 0, 1.0, below), 0.0)
    return np.clip(share, 0.0, 1.0)


def _vapour(temp_c: Array) -> Array:
    """kg of water in a m3 of saturated air (Magnus' formula and the gas law)."""
    kg_m3: Array = 0.611 * np.exp(17.5 * temp_c / (temp_c + 241)) / (0.4615 * (temp_c + 273.15))
    return kg_m3


def _wet_and_dry(lies: Lies, nature: Nature, day: Day, covered: Array) -> None:
    outer = lies.water[:, SHELL:]
    bare = lies.ground_m2 * (1 - 0.88 * covered)
    there = lies.volume_m3 > 1e-4
    dries = np.minimum(
        day.evaporation_mm * bare * outer / (outer + 0.8 * (lies.organic + lies.ash)[:, SHELL:] + TINY), 0.3 * outer
    )
    rain = np.where(there, day.rain_mm * lies.ground_m2 * (1 - covered), 0.0)
    lies.water[:, SHELL:] = outer - dries + rain
    spread = 0.03 * (lies.water.sum(1, keepdims=True) * _dry_shares(lies) - lies.water)
    lies.water += spread
    holds = nature.water_held * (lies.degradable + 0.8 * lies.humus + 0.1 * lies.ash)
    lies.water -= 0.5 * np.maximum(lies.water - holds, 0)


def _dry_shares(lies: Lies) -> Array:
    dry = lies.organic + lies.ash
    shares: Array = dry / np.maximum(dry.sum(1, keepdims=True), TINY)
    return shares


def _settle(lies: Lies, nature: Nature, organic_before: Array) -> None:
    """It gives way under its own weight, slower as it gets denser, and where matter goes, room goes with it."""
    organic = lies.organic.sum(1, keepdims=True)
    ash, water = lies.ash.sum(1, keepdims=True), lies.water.sum(1, keepdims=True)
    volume = np.maximum(lies.volume_m3, 1e-6)
    dense = (organic + ash) / volume
    load_m = (organic + ash + water) / volume / 1000 * volume / lies.ground_m2 / 2
    creeps = 0.030 * (load_m / 0.25) ** 0.6 * np.exp(-(dense - 115) / (34 * nature.stiff))
    collapses = 0.8 * (1 - organic / np.maximum(organic_before, TINY))
    least = (organic / ORGANIC_KG_M3 + ash / ASH_KG_M3 + water / WATER_KG_M3) / 0.75
    shrunk = volume * np.exp(-np.minimum(creeps, 0.15) - collapses)
    lies.volume_m3 = np.where(lies.volume_m3 > 0, np.maximum(shrunk, np.minimum(least, volume)), 0.0)
