"""One day in the life of a block of heaps: rot, heat, air, drying, settling.

First-order breakdown of organic matter with corrections for temperature, moisture, nitrogen and oxygen, of the family
that a review of composting models found among the best (Mason 2006). Days, kg, MJ, metres, Celsius. Within a day
moisture, geometry and settling stand still; temperature goes in six exponential steps of second order.
"""

from dataclasses import dataclass

import numpy as np

from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import DRY_MJ_KG_K, NOTHING_KG, WATER_MJ_KG_K, Heaps, free_air_space

STEPS_A_DAY = 6
#: Rates rise by 6.6 % a kelvin (Haug 1993, from memory) and fall off above 61 C: most carbon dioxide came at 56 to
#: 60 C, less from 64 C on (Suler & Finstein 1977, abstract read).
LN_A_KELVIN, TOO_HOT_C, TOO_HOT_WIDTH_C, REFERENCE_C = float(np.log(1.066)), 61.0, 3.0, 20.0
#: Moisture: half the rate at 40 % water (Haug 1993, from memory).
DRY_AT, DRY_SLOPE = 7.0622, 17.684
#: Full speed up to a C:N of 35, then slower (tuned).
FULL_C_TO_N, C_TO_N_POWER = 35.0, 0.7
#: The shell lies that share of the way from the air to the core (tuned).
SHELL_WARMTH = 0.4
#: Air through the heap, m a day: when cold, and more for each kelvin above the air (reckoned from diffusion and Darcy).
STILL_M_D, DRAUGHT_M_D_K = 2.0, 6.0 / 40
ROOMY = 0.6  # free air space at which these hold; flow goes with its cube (Kozeny-Carman, from memory, high)
OXYGEN_KG_M3, OXYGEN_KG_KG, HALF_OXYGEN = 0.28, 1.4, 0.1  # in air; for a kg of matter (Haug); half-speed share
AIR_MJ_M3_K, VAPORISING_MJ_KG = 0.0012, 2.44  # handbooks, from memory, high
AIR_HUMIDITY = 0.80  # usual in the lowland United Kingdom, from memory (medium)
WATER_KG_KG = 0.55  # water made from a kg of organic matter (Haug 1993, from memory)
DRAINS_A_DAY = 0.7  # of what is more than it holds (tuned)
HELD_BY_REFRACTORY, HELD_BY_ASH = 0.68, 0.18  # against degradable matter (tuned)


@dataclass(frozen=True)
class Weather:
    """One day's air in Celsius, rain and reference evaporation in mm; numbers, or one for each heap as a column."""

    air_c: Array | float
    rain_mm: Array | float
    evaporation_mm: Array | float


@dataclass(frozen=True)
class _Still:
    """What does not move within a day."""

    air_c: Array | float
    fast: Array  # rates a day at 20 C, with moisture and nitrogen in them
    shell: Array
    slow_core: Array
    slow_shell: Array
    flow_m2: Array
    wet: Array  # how freely water leaves the surfaces within
    heat_mj_kg: Array
    heat_mj_k: Array
    vapour_outside: Array | float
    leak_step: Array  # exp(-loss x step)
    drive: Array  # the step's two weights of an exponential Runge-Kutta step
    bend: Array


def live_a_day(heaps: Heaps, members: Members, weather: Weather) -> None:
    """Take every heap of the block one day on, in place."""
    before, water_kg, volume_m3_kg = heaps.degradable_kg, heaps.water_kg, heaps.volume_m3_kg
    carbon_share = heaps.carbon_kg / np.maximum(before + heaps.refractory_kg, NOTHING_KG)
    dry_kg = heaps.dry_kg
    still = _stands_still(heaps, members, weather, _at_noon(heaps, dry_kg))
    drawn_off = _rot_and_heat(heaps, still)
    lost_kg = before - heaps.degradable_kg
    heaps.lost_organic_kg += lost_kg
    heaps.lost_carbon_kg += carbon_share * lost_kg
    heaps.carbon_kg -= carbon_share * lost_kg
    _dry_and_drain(heaps, members, weather, drawn_off, lost_kg)
    _settle(heaps, members, lost_kg / np.maximum(dry_kg - lost_kg / 2, NOTHING_KG))
    heaps.lately_dry_kg = -lost_kg
    heaps.lately_water_kg = heaps.water_kg - water_kg
    heaps.lately_m3_kg = heaps.volume_m3_kg - volume_m3_kg


def _at_noon(heaps: Heaps, dry_kg: Array) -> tuple[Array, Array, Array]:
    """Dry matter, water and volume half a day on, if all goes on as yesterday: the best guess of what holds all day."""
    noon_kg = np.maximum(dry_kg + heaps.lately_dry_kg / 2, NOTHING_KG)
    water_kg = np.maximum(heaps.water_kg + heaps.lately_water_kg / 2, heaps.water_kg / 2)
    return noon_kg, water_kg, (heaps.volume_m3_kg + heaps.lately_m3_kg / 2) * noon_kg


def core_share(volume_m3: Array, length_m: Array, breadth_m: Array, shell_m: Array) -> Array:
    """The share of a heap that is warm core: what lies deeper than the shell, on a floor that is half a shell."""
    height_m = volume_m3 / (length_m * breadth_m)
    share: Array = np.maximum(1 - 2 * shell_m / length_m, 0.05) * np.maximum(1 - 2 * shell_m / breadth_m, 0.05)
    return share * np.maximum(1 - 1.5 * shell_m / np.maximum(height_m, NOTHING_KG), 0.05)


def pace(temp_c: Array) -> Array:
    """How fast it rots at a temperature, 1 at 20 C, best near 57 C."""
    rise: Array = np.exp(LN_A_KELVIN * (temp_c - REFERENCE_C)) / (1 + np.exp((temp_c - TOO_HOT_C) / TOO_HOT_WIDTH_C))
    return rise


def vapour_kg_m3(temp_c: Array) -> Array:
    """Water in saturated air (Tetens' formula and the gas law)."""
    pressure_pa = 610.8 * np.exp(17.27 * temp_c / (temp_c + 237.3))
    density: Array = pressure_pa / (461.5 * (temp_c + 273.15))
    return density


def moisture_factor(moisture: Array) -> Array:
    """How far water lets it rot."""
    factor: Array = 1 / (1 + np.exp(DRY_AT - DRY_SLOPE * moisture))
    return factor


def nitrogen_factor(c_to_n: Array) -> Array:
    """How far nitrogen lets it rot."""
    factor: Array = np.minimum((FULL_C_TO_N / np.maximum(c_to_n, 1.0)) ** C_TO_N_POWER, 1.0)
    return factor


def _stands_still(heaps: Heaps, members: Members, weather: Weather, noon: tuple[Array, Array, Array]) -> _Still:
    dry_kg, water_kg, volume_m3 = noon
    ground_m2, organic_kg = heaps.length_m * heaps.breadth_m, np.maximum(dry_kg - heaps.ash_kg, 0.0)
    side_m2 = _side_m2(heaps, volume_m3)
    allowed = moisture_factor(water_kg / (water_kg + dry_kg)) * nitrogen_factor(heaps.c_to_n)
    core = core_share(volume_m3, heaps.length_m, heaps.breadth_m, members.shell_m)
    fast, slow = members.fast_per_day * allowed, members.slow_per_day * heaps.slow_rate * allowed
    room = free_air_space(organic_kg, heaps.ash_kg, water_kg, volume_m3) / ROOMY
    heat_mj_k = np.maximum(DRY_MJ_KG_K * dry_kg + WATER_MJ_KG_K * water_kg, NOTHING_KG)
    leak = loss_mj_d_k(ground_m2, side_m2, volume_m3, members) / heat_mj_k
    drop = leak / STEPS_A_DAY
    leak_step = np.exp(-drop)
    return _Still(
        air_c=weather.air_c,
        fast=fast,
        shell=fast * members.shell_factor,
        slow_core=slow * core,
        slow_shell=slow * (1 - core),
        flow_m2=(ground_m2 + 0.25 * side_m2) * room * room * room * members.air,
        wet=water_kg / (water_kg + 0.3 * dry_kg),
        heat_mj_kg=members.heat_mj_kg,
        heat_mj_k=heat_mj_k,
        vapour_outside=AIR_HUMIDITY * vapour_kg_m3(np.asarray(weather.air_c)),
        leak_step=leak_step,
        drive=-np.expm1(-drop) / leak,
        bend=(leak_step - 1 + drop) / (leak * drop),
    )


def loss_mj_d_k(ground_m2: Array, side_m2: Array, volume_m3: Array, members: Members) -> Array:
    """Heat that leaves a heap for each kelvin: a cube's core behind a film of 12 W/m2K. MJ a day (reckoned)."""
    behind = 0.083 + 0.28 * np.cbrt(np.maximum(volume_m3, NOTHING_KG)) / members.conductivity_w_mk
    loss: Array = 0.0864 * (1.5 * ground_m2 + side_m2) / behind
    return loss


def _side_m2(heaps: Heaps, volume_m3: Array) -> Array:
    return 2 * (1 / heaps.length_m + 1 / heaps.breadth_m) * volume_m3


def _rot_and_heat(heaps: Heaps, still: _Still) -> Array:
    """Six steps. Answers with the vapour that would leave in the day from a heap that is wet throughout."""
    step = 1 / STEPS_A_DAY
    warmer_k = heaps.core_c - still.air_c
    drawn_off = np.zeros_like(warmer_k)
    for _ in range(STEPS_A_DAY):
        shell = pace(still.air_c + SHELL_WARMTH * warmer_k)
        in_shell = shell * (still.shell * heaps.shell_kg + still.slow_shell * heaps.slow_kg)
        first, warm, oxygen, vapour = _pull(warmer_k, heaps.fast_kg, heaps.slow_kg, in_shell, still)
        guess_k = warmer_k * still.leak_step + first * still.drive
        left_kg = heaps.fast_kg / (1 + step * oxygen * warm * still.fast)
        second, warm_then, oxygen_then, vapour_then = _pull(guess_k, left_kg, heaps.slow_kg, in_shell, still)
        warmer_k = guess_k + (second - first) * still.bend
        drawn_off += vapour + vapour_then
        core_pace = (step / 2) * (oxygen * warm + oxygen_then * warm_then)
        shell_pace = (step / 2) * (oxygen + oxygen_then) * shell
        heaps.fast_kg *= np.exp(-still.fast * core_pace)
        heaps.shell_kg *= np.exp(-still.shell * shell_pace)
        heaps.slow_kg *= np.exp(-still.slow_core * core_pace - still.slow_shell * shell_pace)
    heaps.core_c = still.air_c + warmer_k
    return drawn_off * (step / 2)


def _pull(
    warmer_k: Array, fast_kg: Array, slow_kg: Array, in_shell: Array, still: _Still
) -> tuple[Array, Array, Array, Array]:
    """Kelvin a day without conduction; the core's pace; how far oxygen lets it; vapour of a wet heap a day."""
    core_c = still.air_c + warmer_k
    warm = pace(core_c)
    wanted = warm * (still.fast * fast_kg + still.slow_core * slow_kg) + in_shell
    flow_m3 = still.flow_m2 * (STILL_M_D + DRAUGHT_M_D_K * np.maximum(warmer_k, 0.0))
    oxygen = oxygen_factor(OXYGEN_KG_KG * wanted, OXYGEN_KG_M3 * flow_m3)
    vapour = flow_m3 * np.maximum(vapour_kg_m3(core_c) - still.vapour_outside, 0.0)
    heat = still.heat_mj_kg * oxygen * wanted - AIR_MJ_M3_K * flow_m3 * warmer_k - VAPORISING_MJ_KG * still.wet * vapour
    return heat / still.heat_mj_k, warm, oxygen, vapour


def oxygen_factor(wanted_kg: Array, brought_kg: Array) -> Array:
    """How far oxygen lets it rot: what air brings equals what is used, at half speed at a tenth of the air's share."""
    brought = np.maximum(brought_kg, NOTHING_KG)
    lacking = wanted_kg - (1 - HALF_OXYGEN) * brought
    share = 2 * HALF_OXYGEN * brought / (np.sqrt(lacking * lacking + 4 * HALF_OXYGEN * brought * brought) + lacking)
    factor: Array = (1 + HALF_OXYGEN) * share / (share + HALF_OXYGEN)
    return factor


def _dry_and_drain(heaps: Heaps, members: Members, weather: Weather, drawn_off: Array, lost_kg: Array) -> None:
    """Water over the day: drains for half of it, gains and dries for all, drains for the other half."""
    dry_kg = heaps.dry_kg
    ground_m2 = heaps.length_m * heaps.breadth_m
    holds_kg = members.held_water * (
        heaps.degradable_kg + HELD_BY_REFRACTORY * heaps.refractory_kg + HELD_BY_ASH * heaps.ash_kg
    )
    _drain(heaps, holds_kg)
    bare_m2 = ground_m2 * (1 - 0.8 * heaps.cover) + 0.05 * _side_m2(heaps, heaps.volume_m3_kg * dry_kg)
    leaves = drawn_off / np.maximum(heaps.water_kg + 0.3 * dry_kg, NOTHING_KG)
    leaves += weather.evaporation_mm * bare_m2 / np.maximum(heaps.water_kg + 0.8 * dry_kg, NOTHING_KG)
    rain_kg = np.where(dry_kg > NOTHING_KG, weather.rain_mm * ground_m2 * (1 - heaps.cover), 0.0)
    made_kg = WATER_KG_KG * lost_kg
    stays = np.exp(-leaves)
    gained_kg = rain_kg + made_kg
    after_kg = heaps.water_kg * stays + gained_kg * np.where(leaves > 1e-12, -np.expm1(-leaves), 1.0) / np.where(
        leaves > 1e-12, leaves, 1.0
    )
    heaps.vapour_kg += heaps.water_kg + gained_kg - after_kg
    heaps.rain_kg += rain_kg
    heaps.made_water_kg += made_kg
    heaps.water_kg = after_kg
    _drain(heaps, holds_kg)


def _drain(heaps: Heaps, holds_kg: Array) -> None:
    runs_kg = (1 - np.exp(-DRAINS_A_DAY / 2)) * np.maximum(heaps.water_kg - holds_kg, 0.0)
    heaps.water_kg = heaps.water_kg - runs_kg
    heaps.drained_kg += runs_kg


def _settle(heaps: Heaps, members: Members, lost_share: Array) -> None:
    """It sinks towards its final volume, faster while it rots. What lies denser already does not swell."""
    above = np.maximum(heaps.volume_m3_kg - members.final_m3_kg, 0.0)
    sinks = -np.expm1(-(members.settling_per_day + members.settling_by_loss * lost_share))
    heaps.volume_m3_kg = heaps.volume_m3_kg - above * sinks
