"""What each circumstance makes of the pace of rot, and how a heap loses warmth: plain formulas over arrays."""

import numpy as np

from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import NOTHING_KG

#: Rates rise by 6.6 % a kelvin (Haug 1993, from memory) and fall off above 61 C: most carbon dioxide came at 56 to
#: 60 C, less from 64 C on (Suler & Finstein 1977, abstract read).
LN_A_KELVIN, TOO_HOT_C, TOO_HOT_WIDTH_C, REFERENCE_C = float(np.log(1.066)), 61.0, 3.0, 20.0
#: Moisture: half the rate at 40 % water (Haug 1993, from memory).
DRY_AT, DRY_SLOPE = 7.0622, 17.684
#: Full speed up to a C:N of 35, then slower (tuned).
FULL_C_TO_N, C_TO_N_POWER = 35.0, 0.7
#: Half speed at a tenth of the air's share of oxygen (Haug 1993, from memory, rounded).
HALF_OXYGEN = 0.1


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
    density: Array = (610.8 / 461.5) * np.exp(17.27 * temp_c / (temp_c + 237.3)) / (temp_c + 273.15)
    return density


def moisture_factor(moisture: Array) -> Array:
    """How far water lets it rot."""
    factor: Array = 1 / (1 + np.exp(DRY_AT - DRY_SLOPE * moisture))
    return factor


def nitrogen_factor(c_to_n: Array) -> Array:
    """How far nitrogen lets it rot."""
    factor: Array = np.minimum((FULL_C_TO_N / np.maximum(c_to_n, 1.0)) ** C_TO_N_POWER, 1.0)
    return factor


def oxygen_factor(wanted_kg: Array, brought_kg: Array) -> Array:
    """How far oxygen lets it rot: what air brings equals what is used, at half speed at a tenth of the air's share."""
    brought = np.maximum(brought_kg, NOTHING_KG)
    lacking = wanted_kg - (1 - HALF_OXYGEN) * brought
    twice = 2 * HALF_OXYGEN * brought
    # share = twice / (root + lacking), and the factor (1 + HALF) share / (share + HALF)
    root = np.sqrt(lacking * lacking + twice * (2 * brought)) + lacking
    factor: Array = (1 + HALF_OXYGEN) * twice / (twice + HALF_OXYGEN * root)
    return factor


def loss_mj_d_k(ground_m2: Array, side_m2: Array, volume_m3: Array, members: Members) -> Array:
    """Heat that leaves a heap for each kelvin: a cube's core behind a film of 12 W/m2K. MJ a day (reckoned)."""
    behind = 0.083 + 0.28 * np.cbrt(np.maximum(volume_m3, NOTHING_KG)) / members.conductivity_w_mk
    loss: Array = 0.0864 * (1.5 * ground_m2 + side_m2) / behind
    return loss


def side_m2(volume_m3: Array, length_m: Array, breadth_m: Array) -> Array:
    """The sides of a heap that fills its ground evenly."""
    sides: Array = 2 * (1 / length_m + 1 / breadth_m) * volume_m3
    return sides
