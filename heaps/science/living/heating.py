"""Rot and heat within one day, while moisture, air space and geometry stand still.

Temperature goes in exponential steps of second order (the linear loss is exact), what rots by exponentials, so that
nothing is ever negative or unstable. A heap that hardly changed yesterday takes the day in one step, others in six.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heaps.science.living.factors import oxygen_factor, pace, vapour_kg_m3
from heaps.science.living.parameters import Array
from heaps.science.living.state import Heaps

STEPS_A_DAY = 6
#: A core that moved less than this yesterday, and is no hotter, is taken in one step (tuned to SciPy's solver).
CALM_K, CALM_C = 1.0, 45.0
#: The shell lies that share of the way from the air to the core (tuned).
SHELL_WARMTH = 0.4
#: Air through the heap, m a day: when cold, and more for each kelvin above the air (reckoned from diffusion and Darcy).
STILL_M_D, DRAUGHT_M_D_K = 2.0, 6.0 / 40
OXYGEN_KG_M3, OXYGEN_KG_KG = 0.28, 1.4  # in air; for a kg of matter (Haug 1993, from memory)
AIR_MJ_M3_K, VAPORISING_MJ_KG = 0.0012, 2.44  # handbooks, from memory, high


@dataclass(frozen=True)
class Still:
    """What stands still within a day, one value for each heap and member."""

    air_c: Array
    fast: Array  # rates a day at 20 C, with moisture and nitrogen in them
    shell: Array
    slow_core: Array
    slow_shell: Array
    flow_m2: Array
    wet: Array  # how freely water leaves the surfaces within
    heat_mj_kg: Array
    heat_mj_k: Array
    leak: Array  # of the warmth, a day
    vapour_outside: Array

    def some(self, which: NDArray[np.bool_]) -> "Still":
        """The same of some heaps and members."""
        return Still(*(value[which] for value in vars(self).values()))


@dataclass
class _Rotting:
    """What moves within a day."""

    warmer_k: Array
    fast_kg: Array
    shell_kg: Array
    slow_kg: Array


def rot_and_heat(heaps: Heaps, still: Still) -> Array:
    """Take the four masses and the core through a day. Answers with the vapour that a wet heap would lose in it."""
    calm = (np.abs(heaps.lately_core_k) < CALM_K) & (heaps.core_c < CALM_C)
    now = _Rotting(heaps.core_c - still.air_c, heaps.fast_kg, heaps.shell_kg, heaps.slow_kg)
    if calm.all():
        drawn_off = _go(now, still, 1)
    elif not calm.any():
        drawn_off = _go(now, still, STEPS_A_DAY)
    else:
        drawn_off = np.empty_like(heaps.core_c)
        for which, steps in ((calm, 1), (~calm, STEPS_A_DAY)):
            part = _Rotting(*(value[which] for value in vars(now).values()))
            drawn_off[which] = _go(part, still.some(which), steps)
            for name, value in vars(part).items():
                getattr(now, name)[which] = value
    after_c = still.air_c + now.warmer_k
    heaps.lately_core_k = after_c - heaps.core_c
    heaps.core_c = after_c
    heaps.fast_kg, heaps.shell_kg, heaps.slow_kg = now.fast_kg, now.shell_kg, now.slow_kg
    return drawn_off


def _go(now: _Rotting, still: Still, steps: int) -> Array:
    step = 1 / steps
    drop = still.leak * step
    keeps = np.exp(-drop)
    drive = (1 - keeps) / still.leak
    bend = (keeps - 1 + drop) / (still.leak * drop)
    drawn_off = np.zeros_like(now.warmer_k)
    for _ in range(steps):
        shell = pace(still.air_c + SHELL_WARMTH * now.warmer_k)
        in_shell = shell * (still.shell * now.shell_kg + still.slow_shell * now.slow_kg)
        first, turnover, oxygen, vapour = _pull(now.warmer_k, now.fast_kg, now.slow_kg, in_shell, still)
        guess_k = now.warmer_k * keeps + first * drive
        left_kg = now.fast_kg / (1 + step * turnover * still.fast)
        second, turnover_then, oxygen_then, vapour_then = _pull(guess_k, left_kg, now.slow_kg, in_shell, still)
        now.warmer_k = guess_k + (second - first) * bend
        drawn_off += vapour + vapour_then
        in_core = (-step / 2) * (turnover + turnover_then)
        outside = (-step / 2) * (oxygen + oxygen_then) * shell
        now.fast_kg = now.fast_kg * np.exp(still.fast * in_core)
        now.shell_kg = now.shell_kg * np.exp(still.shell * outside)
        now.slow_kg = now.slow_kg * np.exp(still.slow_core * in_core + still.slow_shell * outside)
    of_day: Array = drawn_off * (step / 2)
    return of_day


def _pull(
    warmer_k: Array, fast_kg: Array, slow_kg: Array, in_shell: Array, still: Still
) -> tuple[Array, Array, Array, Array]:
    """Kelvin a day without conduction; pace of the core with the oxygen there is; how far that lets it; vapour."""
    core_c = still.air_c + warmer_k
    warm = pace(core_c)
    wanted = warm * (still.fast * fast_kg + still.slow_core * slow_kg) + in_shell
    flow_m3 = still.flow_m2 * (STILL_M_D + DRAUGHT_M_D_K * np.maximum(warmer_k, 0.0))
    oxygen = oxygen_factor(OXYGEN_KG_KG * wanted, OXYGEN_KG_M3 * flow_m3)
    vapour = flow_m3 * np.maximum(vapour_kg_m3(core_c) - still.vapour_outside, 0.0)
    heat = still.heat_mj_kg * oxygen * wanted - AIR_MJ_M3_K * flow_m3 * warmer_k - VAPORISING_MJ_KG * still.wet * vapour
    return heat / still.heat_mj_k, oxygen * warm, oxygen, vapour
