"""Rot and heat within one stretch, while moisture, air space and geometry stand still.

Each step goes by the pull at its middle, which is guessed from the pull before: second order at one look a step. The
linear loss of warmth is exact and what rots goes by exponentials, so that nothing is ever negative or unstable.
"""

from typing import Any, NamedTuple

import numpy as np

from heaps.science.living.factors import NONE, SATURATED_KG_K_M3, Air, oxygen_factor, paces_and_vapour
from heaps.science.living.parameters import Array
from heaps.science.living.state import Heaps, Rows
from heaps.science.living.stretches import STEPS, may_be, steps_of

#: Matter for which a m3 of air has oxygen: 0.28 kg a m3, 1.4 kg for a kg of matter (Haug 1993, from memory).
AIRS_KG_M3 = 0.28 / 1.4
SLOW = 2  # of the pools; the first two, fast matter of core and of shell, rot at the pace of core and of shell


class Still(NamedTuple):
    """What stands still within a stretch, one value for each heap and member."""

    air_c: float  # in its middle
    drift_k_d: float  # by which the air warms
    air: Air
    rates: Array  # a day at the air's pace with moisture and nitrogen in them: of fast matter in core and shell
    slow: Array  # of the slow matter, what comes of the core and of the shell
    flow_kg_k: Array  # air a day, in kg of matter for which it has oxygen: for each kelvin over the air outside
    flow_kg: Array  # and when it is as cold as that
    heat_k_kg: Array  # kelvin that a kg of matter gives
    chill_kg: Array  # for each kelvin over the air, of the air for a kg of matter
    chill_k_kg: Array  # of the vapour in it, with how freely that leaves the surfaces within
    leak: Array  # of the warmth, a day

    def some(self, rows: Rows) -> "Still":
        """The same of some heaps; what is one number for all stays so."""

        def of(value: Any) -> Any:
            return value[..., rows, :] if isinstance(value, np.ndarray) else value

        return Still(*map(of, self))


class _Going(NamedTuple):
    """What moves within a stretch, with the pull and the rates that were looked at last."""

    warmer_k: Array
    pools: Array
    pull_k: Array
    rots: Array
    drawn_off: Array
    may_days: Array


def rot_and_heat(heaps: Heaps, still: Still, days: int) -> Array:
    """Take the masses and the core through a stretch. Answers with the vapour that a wet heap would lose in it."""
    drift_c = still.drift_k_d * days / 2
    warmer_k, pools = heaps.core_c - (still.air_c - drift_c), heaps.pools_kg
    goes = _Going(warmer_k, pools, heaps.lately_pull_k, heaps.lately_rots, np.zeros(warmer_k.shape), heaps.may_days)
    for steps, rows in steps_of(heaps):
        if isinstance(rows, slice):
            goes = _go(goes, still, days, steps)
        else:
            some = _Going(*(value[..., rows, :] for value in goes))
            for all_of_it, value in zip(goes, _go(some, still.some(rows), days, steps), strict=True):
                all_of_it[..., rows, :] = value
    heaps.core_c = goes.warmer_k + (still.air_c + drift_c)
    heaps.pools_kg = goes.pools
    heaps.lately_pull_k, heaps.lately_rots, heaps.may_days = goes.pull_k, goes.rots, goes.may_days
    return goes.drawn_off


def _go(goes: _Going, still: Still, days: int, steps: int) -> _Going:
    step = days / steps
    keeps_half = np.exp(still.leak * (step / -2))
    keeps = keeps_half * keeps_half
    drive_half, drive = (1 - keeps_half) / still.leak, (1 - keeps) / still.leak
    warmer_k, pools, pull, rots = goes.warmer_k, goes.pools, goes.pull_k, goes.rots
    if steps == STEPS[-1]:  # what it did before tells little of how it goes on
        pull, rots, _ = _pull(warmer_k, pools, still)
    left = np.exp(rots * (step / -2))
    vapours = np.zeros(warmer_k.shape)
    for _ in range(steps):
        guessed, middle_k = pull, warmer_k * keeps_half
        middle_k += pull * drive_half
        pull, rots, vapour = _pull(middle_k, pools * left, still)
        warmer_k = warmer_k * keeps
        warmer_k += pull * drive
        left = rots * (step / -2)
        np.exp(left, out=left)
        pools = pools * left
        pools *= left  # and so much of it is left in the middle of the next step
        vapours += vapour
    vapours *= SATURATED_KG_K_M3 / AIRS_KG_M3 * step
    return _Going(warmer_k, pools, pull, rots, vapours, may_be(step, (pull - guessed) * drive_half))


def _pull(warmer_k: Array, pools: Array, still: Still) -> tuple[Array, Array, Array]:
    """Kelvin a day over the air, without conduction; the rates at which pools rot with the oxygen there is; vapour."""
    pace, vapour = paces_and_vapour(warmer_k, still.air)
    rots = np.empty(pools.shape)
    np.multiply(still.rates, pace, out=rots[:SLOW])
    pace *= still.slow
    np.add(pace[0], pace[1], out=rots[SLOW])
    of_pools = rots * pools
    wanted = of_pools[0] + of_pools[1]
    wanted += of_pools[2]
    flow_kg = np.maximum(warmer_k, NONE)
    flow_kg *= still.flow_kg_k
    flow_kg += still.flow_kg
    oxygen = oxygen_factor(wanted, flow_kg)
    rots *= oxygen
    wanted *= oxygen
    wanted *= still.heat_k_kg
    vapour *= flow_kg
    flow_kg *= warmer_k
    flow_kg *= still.chill_kg
    wanted -= flow_kg
    wanted -= still.chill_k_kg * vapour
    if still.drift_k_d:
        wanted -= still.drift_k_d
    return wanted, rots, vapour
