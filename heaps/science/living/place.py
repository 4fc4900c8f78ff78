"""What stays as it is with a heap until somebody does something to it, worked out once instead of in each stretch."""

from collections.abc import Iterable
from dataclasses import dataclass, fields

import numpy as np

from heaps.science.blend import ASH_KG_M3, ORGANIC_KG_M3
from heaps.science.living.factors import FULL_C_TO_N, MJ_D_W, core_of_ground, shell_floor_m3
from heaps.science.living.heating import AIRS_KG_M3
from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import NOTHING_KG, Heaps, Rows

CUBE = 0.28  # of its side lies between a cube's core and its skin, as far as warmth goes (reckoned)
ROOMY = 0.6  # free air space at which the air flows as said; with its cube otherwise (Kozeny-Carman, from memory, high)
HELD_BY_REFRACTORY, HELD_BY_ASH = 0.68, 0.18  # water, against degradable matter (tuned)
#: Of the air outside, against open ground: what a lid leaves of its drying, and the sides of a heap (tuned).
UNDER_A_LID, OF_SIDES = 0.2, 0.05


@dataclass
class Place:
    """Each of heaps x members, all in one stack; `_m3` is of each cubic metre of a heap that fills its ground."""

    stack: Array
    # of the ground and of the members
    heat_mj_kg: Array
    loses_mj_d_k: Array  # above and below, when only the film of air keeps it warm
    loses_mj_d_k_m3: Array  # at the sides
    resists: Array  # of each metre of a cube's side
    breathes: Array  # kg of matter for which a metre a day of air has oxygen, when it is nothing but room
    breathes_m3: Array
    core_most: Array  # the share of an endlessly high heap that is warm core
    core_lacks_m3: Array  # of which the floor takes so many cubic metres
    core_least: Array
    held_water: Array
    dries_m3: Array  # m2 of open ground
    final_m3_kg: Array
    settling_per_day: Array
    settling_by_loss: Array
    fast_per_day: Array
    shell_per_day: Array
    # of what lies there, too
    slow_per_day: Array
    held_kg: Array  # dry matter that does not rot, never quite nothing, so that it can be divided by
    ash_over_m3: Array  # by which ash takes up less room than organic matter
    holds_kg: Array  # water in what does not rot
    carbon_share: Array  # of organic matter, whatever rots of it
    full_speed: Array  # 1 for a kg of carbon above which nitrogen is short
    dries: Array
    catches_m2: Array  # of rain

    @classmethod
    def of(cls, heaps: Heaps, members: Members) -> "Place":
        """Of each heap of a block."""
        stack = np.zeros((len(fields(cls)) - 1, *heaps.core_c.shape))
        place = cls(stack, *stack)
        ground_m2, sides_m2_m3 = heaps.length_m * heaps.breadth_m, 2 * (1 / heaps.length_m + 1 / heaps.breadth_m)
        place.heat_mj_kg[:] = members.heat_mj_kg
        place.loses_mj_d_k[:] = MJ_D_W * 1.5 * ground_m2
        place.loses_mj_d_k_m3[:] = MJ_D_W * sides_m2_m3
        place.resists[:] = CUBE / members.conductivity_w_mk
        place.breathes[:] = AIRS_KG_M3 / ROOMY**3 * members.air * ground_m2
        place.breathes_m3[:] = AIRS_KG_M3 / ROOMY**3 * members.air * 0.25 * sides_m2_m3  # sides count a quarter
        place.core_most[:] = core_of_ground(heaps.length_m, heaps.breadth_m, members.shell_m)
        place.core_lacks_m3[:] = place.core_most * shell_floor_m3(ground_m2, members.shell_m)
        place.core_least[:] = place.core_most * 0.05
        place.held_water[:] = members.held_water
        place.dries_m3[:] = OF_SIDES * sides_m2_m3
        place.final_m3_kg[:] = members.final_m3_kg
        place.settling_per_day[:] = members.settling_per_day
        place.settling_by_loss[:] = members.settling_by_loss
        place.fast_per_day[:] = members.fast_per_day
        place.shell_per_day[:] = members.fast_per_day * members.shell_factor
        place.look_at(range(len(ground_m2)), heaps, members)
        return place

    def look_at(self, rows: Iterable[int], heaps: Heaps, members: Members) -> None:
        """What lies there now, after something was done to some heaps."""
        for row in rows:
            refractory_kg, ash_kg, carbon_kg = heaps.refractory_kg[row], heaps.ash_kg[row], heaps.carbon_kg[row]
            self.slow_per_day[row] = members.slow_per_day * heaps.slow_rate[row]
            self.held_kg[row] = np.maximum(NOTHING_KG, refractory_kg + ash_kg)
            self.ash_over_m3[row] = (1 / ASH_KG_M3 - 1 / ORGANIC_KG_M3) * ash_kg
            self.holds_kg[row] = members.held_water * (HELD_BY_REFRACTORY * refractory_kg + HELD_BY_ASH * ash_kg)
            self.carbon_share[row] = carbon_kg / np.maximum(NOTHING_KG, heaps.organic_kg[row])
            self.full_speed[row] = 1 / np.maximum(NOTHING_KG, FULL_C_TO_N * heaps.nitrogen_kg[row])
            ground_m2, open_to = heaps.length_m[row] * heaps.breadth_m[row], 1 - heaps.cover[row]
            self.dries[row] = ground_m2 * (UNDER_A_LID + (1 - UNDER_A_LID) * open_to)
            self.catches_m2[row] = ground_m2 * open_to * (heaps.dry_kg[row] > NOTHING_KG)

    def some(self, rows: Rows) -> "Place":
        """Of some heaps."""
        if isinstance(rows, slice):
            return self
        stack = self.stack[:, rows]
        return Place(stack, *stack)
