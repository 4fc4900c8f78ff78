"""What each circumstance makes of the pace of rot, and how a heap loses warmth: plain formulas over arrays."""

import numpy as np

from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import NOTHING_KG

#: Rates rise by 6.6 % a kelvin (Haug 1993, from memory) and fall off above 61 C: most carbon dioxide came at 56 to
#: 60 C, less from 64 C on (Suler & Finstein 1977, abstract read).
LN_A_KELVIN, TOO_HOT_C, TOO_HOT_WIDTH_C, REFERENCE_C = float(np.log(1.066)), 61.0, 3.0, 20.0
#: Tetens' formula for saturated air, in Pa, and the gas constant of water in J/kg/K (handbooks, from memory, high).
VAPOUR_A, VAPOUR_B_C, SATURATED_AT_0_KG_K_M3, KELVIN = 17.27, 237.3, 610.8 / 461.5, 273.15
#: Moisture: half the rate at 40 % water (Haug 1993, from memory).
DRY_AT, DRY_SLOPE = 7.0622, 17.684
#: Full speed up to a C:N of 35, then slower (tuned).
FULL_C_TO_N, C_TO_N_POWER = 35.0, 0.7
#: Half speed at a tenth of the air's share of oxygen (Haug 1993, from memory, rounded).
HALF_OXYGEN = 0.1


def core_share(volume_m3: Array, length_m: Array, breadth_m: Array, shell_m: Array) -> Array:
    """The share of a heap that is warm core: what lies deeper than the shell, on a floor that is half a shell."""
    of_height = core_of_height(volume_m3, length_m * breadth_m, shell_m)
    return core_of_ground(length_m, breadth_m, shell_m) * of_height


def core_of_ground(length_m: Array, breadth_m: Array, shell_m: Array) -> Array:
    """As far as length and breadth go."""
    share: Array = np.maximum(1 - 2 * shell_m / length_m, 0.05) * np.maximum(1 - 2 * shell_m / breadth_m, 0.05)
    return share


def core_of_height(volume_m3: Array, ground_m2: Array, shell_m: Array) -> Array:
    """As far as the height goes."""
    share: Array = np.maximum(1 - 1.5 * shell_m * ground_m2 / np.maximum(volume_m3, NOTHING_KG), 0.05)
    return share


def pace(temp_c: Array) -> Array:
    """How fast it rots at a temperature, 1 at 20 C, best near 57 C."""
    falls_off = temp_c - TOO_HOT_C
    falls_off /= TOO_HOT_WIDTH_C
    np.exp(falls_off, out=falls_off)
    falls_off += 1
    rise = temp_c - REFERENCE_C
    rise *= LN_A_KELVIN
    np.exp(rise, out=rise)
    rise /= falls_off
    return rise


def vapour_kg_m3(temp_c: Array) -> Array:
    """Water in saturated air (Tetens' formula and the gas law)."""
    density: Array = np.exp(VAPOUR_A - VAPOUR_A * VAPOUR_B_C / (temp_c + VAPOUR_B_C))
    density *= SATURATED_AT_0_KG_K_M3
    density /= temp_c + KELVIN
    return density


def moisture_factor(moisture: Array) -> Array:
    """How far water lets it rot."""
    factor: Array = 1 / (1 + np.exp(DRY_AT - DRY_SLOPE * moisture))
    return factor


def nitrogen_factor(c_to_n: Array) -> Array:
    """How far nitrogen lets it rot."""
    factor: Array = np.minimum((FULL_C_TO_N / np.maximum(c_to_n, 1.0)) ** C_TO_N_POWER, 1.0)
    return factor


def oxygen_factor(wanted: Array, brought: Array) -> Array:
    """How far oxygen lets it rot: what air brings equals what is used, at half speed at a tenth of the air's share."""
    lacking = wanted / np.maximum(brought, NOTHING_KG)
    lacking -= 1 - HALF_OXYGEN
    root = lacking * lacking
    root += 4 * HALF_OXYGEN
    np.sqrt(root, out=root)
    root += lacking  # share = 2 HALF / root, and the factor (1 + HALF) share / (share + HALF)
    root += 2
    factor: Array = (2 + 2 * HALF_OXYGEN) / root
    return factor


def loss_mj_d_k(ground_m2: Array, side_m2: Array, volume_m3: Array, members: Members) -> Array:
    """Heat that leaves a heap for each kelvin: a cube's core behind a film of 12 W/m2K. MJ a day (reckoned)."""
    behind = 0.083 + 0.28 * np.cbrt(np.maximum(volume_m3, NOTHING_KG)) / members.conductivity_w_mk
    loss: Array = 0.0864 * (1.5 * ground_m2 + side_m2) / behind
    return loss
