"""Rot and heat within one stretch, while moisture, air space and geometry stand still.

Each step goes by the pull at its middle, which is guessed from the pull before: second order at one look a step. The
linear loss of warmth is exact and what rots goes by exponentials, so that nothing is ever negative or unstable.
"""

from dataclasses import dataclass

import numpy as np

from heaps.science.living.factors import oxygen_factor, pace, vapour_kg_m3
from heaps.science.living.parameters import Array
from heaps.science.living.state import Heaps
from heaps.science.living.stretches import Stretch, may_be

#: Warmer than the air, against the core: the core itself, and the shell (tuned).
WARMTHS = np.array([1.0, 0.4])[:, None, None]
#: Air through the heap, m a day: when cold, and more for each kelvin above the air (reckoned from diffusion and Darcy).
STILL_M_D, DRAUGHT_M_D_K = 2.0, 6.0 / 40
OXYGEN_KG_M3, OXYGEN_KG_KG = 0.28, 1.4  # in air; for a kg of matter (Haug 1993, from memory)
AIR_MJ_M3_K, VAPORISING_MJ_KG = 0.0012, 2.44  # handbooks, from memory, high
FAST, SHELL, SLOW = 0, 1, 2


@dataclass(frozen=True)
class Still:
    """What stands still within a stretch, one value for each heap and member."""

    air_c: float  # in its middle
    drift_k_d: float  # by which the air warms
    core: Array  # rates a day at 20 C of fast, shell and slow matter in the core, with moisture and nitrogen in them
    shell: Array  # the same in the shell
    flow_m2: Array
    heat_k_kg: Array  # kelvin that a kg of matter gives
    chill_k_m3: Array  # for each kelvin over the air, of a m3 of air
    chill_k_kg: Array  # of a kg of vapour, with how freely it leaves the surfaces within
    leak: Array  # of the warmth, a day
    vapour_outside: float


def rot_and_heat(heaps: Heaps, still: Still, stretch: Stretch) -> Array:
    """Take the masses and the core through a stretch. Answers with the vapour that a wet heap would lose in it."""
    step = stretch.step_days
    keeps, keeps_half = np.exp(-step * still.leak), np.exp(-step / 2 * still.leak)
    drive, drive_half = (1 - keeps) / still.leak, (1 - keeps_half) / still.leak
    pools = np.stack((heaps.fast_kg, heaps.shell_kg, heaps.slow_kg))
    warmer_k = heaps.core_c - (still.air_c - still.drift_k_d * stretch.days / 2)
    pull, turnover = heaps.lately_pull_k, heaps.lately_pace
    if stretch.fresh:
        pull, turnover, _ = _pull(warmer_k, pools, still)
    left = np.exp(_rots(turnover, still) * (-step / 2))
    drawn_off = np.zeros(warmer_k.shape)
    for _ in range(stretch.steps):
        guessed_pull = pull
        pull, turnover, vapour = _pull(warmer_k * keeps_half + pull * drive_half, pools * left, still)
        warmer_k = warmer_k * keeps + pull * drive
        left = np.exp(_rots(turnover, still) * -step)
        pools *= left
        left += 1
        left *= 0.5  # of what there is now, at the middle of the next step
        drawn_off += vapour
    drawn_off *= step
    after_c = warmer_k + (still.air_c + still.drift_k_d * stretch.days / 2)
    heaps.may_days = may_be(stretch, (pull - guessed_pull) * drive_half)
    heaps.lately_pull_k, heaps.lately_pace = pull, turnover
    heaps.core_c = after_c
    heaps.fast_kg, heaps.shell_kg, heaps.slow_kg = pools
    return drawn_off


def _rots(turnover: Array, still: Still) -> Array:
    rots: Array = still.core * turnover[0]
    rots += still.shell * turnover[1]
    return rots


def _pull(warmer_k: Array, pools: Array, still: Still) -> tuple[Array, Array, Array]:
    """Kelvin a day over the air, without conduction; how fast core and shell rot with the oxygen there is; vapour."""
    temp_c = WARMTHS * warmer_k
    temp_c += still.air_c
    paces = pace(temp_c)
    wanted = paces[0] * (still.core[FAST] * pools[FAST] + still.core[SLOW] * pools[SLOW])
    wanted += paces[1] * (still.shell[SHELL] * pools[SHELL] + still.shell[SLOW] * pools[SLOW])
    flow_m3 = np.maximum(warmer_k, 0.0)
    flow_m3 *= DRAUGHT_M_D_K
    flow_m3 += STILL_M_D
    flow_m3 *= still.flow_m2
    oxygen = oxygen_factor(OXYGEN_KG_KG / OXYGEN_KG_M3 * wanted, flow_m3)
    vapour = vapour_kg_m3(temp_c[0])
    vapour -= still.vapour_outside
    np.maximum(vapour, 0.0, out=vapour)
    vapour *= flow_m3
    wanted *= oxygen
    pull_k = still.heat_k_kg * wanted
    pull_k -= still.chill_k_m3 * flow_m3 * warmer_k
    pull_k -= still.chill_k_kg * vapour
    pull_k -= still.drift_k_d
    paces *= oxygen
    return pull_k, paces, vapour
