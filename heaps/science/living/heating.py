"""Rot and heat within one stretch, while moisture, air space and geometry stand still.

Each step goes by the pull at its middle, which is guessed from the pull before: second order at one look a step. The
linear loss of warmth is exact and what rots goes by exponentials, so that nothing is ever negative or unstable.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from heaps.science.living.factors import oxygen_factor, pace, vapour_kg_m3
from heaps.science.living.parameters import Array
from heaps.science.living.state import Heaps, Rows
from heaps.science.living.stretches import STEPS, may_be, steps_of

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

    def some(self, rows: Rows) -> "Still":
        """The same of some heaps; what is one number for all stays so."""

        def of(value: Any) -> Any:
            return value[..., rows, :] if isinstance(value, np.ndarray) and value.shape[-2] > 1 else value

        return Still(**{name: of(value) for name, value in vars(self).items()})


@dataclass(frozen=True)
class _Going:
    """What moves within a stretch, with the pull and the pace that were looked at last."""

    warmer_k: Array
    pools: Array
    pull_k: Array
    paces: Array
    drawn_off: Array
    may_days: Array


def rot_and_heat(heaps: Heaps, still: Still, days: int) -> Array:
    """Take the masses and the core through a stretch. Answers with the vapour that a wet heap would lose in it."""
    drift_c = still.drift_k_d * days / 2
    warmer_k, pools = heaps.core_c - (still.air_c - drift_c), np.stack((heaps.fast_kg, heaps.shell_kg, heaps.slow_kg))
    goes = _Going(warmer_k, pools, heaps.lately_pull_k, heaps.lately_paces, np.zeros(warmer_k.shape), heaps.may_days)
    for steps, rows in steps_of(heaps):
        if isinstance(rows, slice):
            goes = _go(goes, still, days, steps)
        else:
            some = _Going(*(value[..., rows, :] for value in vars(goes).values()))
            for name, value in vars(_go(some, still.some(rows), days, steps)).items():
                getattr(goes, name)[..., rows, :] = value
    heaps.core_c = goes.warmer_k + (still.air_c + drift_c)
    heaps.fast_kg, heaps.shell_kg, heaps.slow_kg = goes.pools
    heaps.lately_pull_k, heaps.lately_paces, heaps.may_days = goes.pull_k, goes.paces, goes.may_days
    return goes.drawn_off


def _go(goes: _Going, still: Still, days: int, steps: int) -> _Going:
    step = days / steps
    keeps, keeps_half = np.exp(-step * still.leak), np.exp(-step / 2 * still.leak)
    drive, drive_half = (1 - keeps) / still.leak, (1 - keeps_half) / still.leak
    warmer_k, pools, pull, paces, drawn_off = goes.warmer_k, goes.pools, goes.pull_k, goes.paces, goes.drawn_off
    if steps == STEPS[-1]:  # what it did before tells little of how it goes on
        pull, paces, _ = _pull(warmer_k, pools, still)
    left = np.exp(_rots(paces, still) * (-step / 2))
    for _ in range(steps):
        guessed = pull
        pull, paces, vapour = _pull(warmer_k * keeps_half + pull * drive_half, pools * left, still)
        warmer_k = warmer_k * keeps + pull * drive
        left = np.exp(_rots(paces, still) * -step)
        pools = pools * left
        left += 1
        left *= 0.5  # of what there is now, at the middle of the next step
        drawn_off = drawn_off + vapour * step
    return _Going(warmer_k, pools, pull, paces, drawn_off, may_be(step, (pull - guessed) * drive_half))


def _rots(paces: Array, still: Still) -> Array:
    rots: Array = still.core * paces[0]
    rots += still.shell * paces[1]
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
