"""What each circumstance makes of the pace of rot, and how a heap loses warmth: plain formulas over arrays."""

from math import exp, log
from typing import NamedTuple

import numpy as np

from heaps.science.living.parameters import Array
from heaps.science.living.state import NOTHING_KG

#: Rates rise by 6.6 % a kelvin (Haug 1993, from memory) and fall off above 61 C: most carbon dioxide came at 56 to
#: 60 C, less from 64 C on (Suler & Finstein 1977, abstract read).
LN_A_KELVIN, TOO_HOT_C, TOO_HOT_WIDTH_C, REFERENCE_C = log(1.066), 61.0, 3.0, 20.0
#: Warmer than the air, against the core: the core itself, and the shell (tuned).
WARMTHS = np.array([1.0, 0.4])[:, None, None]
#: The exponents of rise and fall of both, for each kelvin over the air.
_RISE_AND_FALL = np.concatenate([WARMTHS * LN_A_KELVIN, WARMTHS / TOO_HOT_WIDTH_C])
#: Tetens' formula for saturated air, in Pa, and the gas constant of water in J/kg/K (handbooks, from memory, high).
VAPOUR_A, VAPOUR_B_C, SATURATED_AT_0_KG_K_M3, KELVIN = 17.27, 237.3, 610.8 / 461.5, 273.15
SATURATED_KG_K_M3 = SATURATED_AT_0_KG_K_M3 * exp(VAPOUR_A)
#: Moisture: half the rate at 40 % water (Haug 1993, from memory).
DRY_AT, DRY_SLOPE = 7.0622, 17.684
#: Full speed up to a C:N of 35, then slower (tuned).
FULL_C_TO_N, C_TO_N_POWER = 35.0, 0.7
#: Half speed at a tenth of the air's share of oxygen (Haug 1993, from memory, rounded).
HALF_OXYGEN = 0.1
#: The film of air outside, 12 W/m2K; watts for a day are so many MJ.
FILM_M2K_W, MJ_D_W = 0.083, 0.0864


def number(value: float) -> Array:
    """As arrays take it quickest: what is asked for in each look is reckoned a tenth sooner by that."""
    return np.array(value)


NONE, ONE = number(0.0), number(1.0)
_POWER, _TO_KELVIN = number(-VAPOUR_A * VAPOUR_B_C), number(KELVIN - VAPOUR_B_C)
_ENOUGH, _FOUR_HALVES = number(1 - HALF_OXYGEN), number(4 * HALF_OXYGEN)
_TWO, _ALL = number(2.0), number(2 + 2 * HALF_OXYGEN)


def core_share(volume_m3: Array, length_m: Array, breadth_m: Array, shell_m: Array) -> Array:
    """The share of a heap that is warm core: what lies deeper than the shell, on a floor that is half a shell."""
    of_height = core_of_height(np.maximum(volume_m3, NOTHING_KG), shell_floor_m3(length_m * breadth_m, shell_m))
    return core_of_ground(length_m, breadth_m, shell_m) * of_height


def core_of_ground(length_m: Array, breadth_m: Array, shell_m: Array) -> Array:
    """As far as length and breadth go."""
    share: Array = np.maximum(1 - 2 * shell_m / length_m, 0.05) * np.maximum(1 - 2 * shell_m / breadth_m, 0.05)
    return share


def shell_floor_m3(ground_m2: Array, shell_m: Array) -> Array:
    """The shell below and above: one and a half shells of the ground."""
    floor_m3: Array = 1.5 * shell_m * ground_m2
    return floor_m3


def core_of_height(volume_m3: Array, floor_m3: Array) -> Array:
    """As far as the height goes; `floor_m3` is what of it would be floor."""
    share = floor_m3 / volume_m3
    np.subtract(1, share, out=share)
    return np.maximum(share, 0.05, out=share)


class Air(NamedTuple):
    """What the air does within a heap, by its Celsius."""

    pace: float  # of rot at its own temperature, were that never too hot
    too_hot: Array  # how far it is on the way to that
    over_b: Array
    vapour: Array  # in it, of SATURATED_KG_K_M3

    @classmethod
    def of(cls, air_c: float, humidity: float) -> "Air":
        vapour = exp(-VAPOUR_A * VAPOUR_B_C / (air_c + VAPOUR_B_C)) / (air_c + KELVIN)
        return cls(
            exp(LN_A_KELVIN * (air_c - REFERENCE_C)),
            number(exp((air_c - TOO_HOT_C) / TOO_HOT_WIDTH_C)),
            number(air_c + VAPOUR_B_C),
            number(humidity * vapour),
        )


def paces_and_vapour(warmer_k: Array, air: Air) -> tuple[Array, Array]:
    """Of a core so much warmer than the air: how fast core and shell rot against the air's own pace, best near 57 C;
    and water in saturated air over that outside, of SATURATED_KG_K_M3 (Tetens' formula and the gas law). All exponents
    are taken at once."""
    powers = np.empty((5, *warmer_k.shape))
    rise_and_fall, vapour = powers[:4], powers[4]
    np.multiply(_RISE_AND_FALL, warmer_k, out=rise_and_fall)
    temp = warmer_k + air.over_b
    np.divide(_POWER, temp, out=vapour)
    np.exp(powers, out=powers)
    temp += _TO_KELVIN
    vapour /= temp
    vapour -= air.vapour
    np.maximum(vapour, NONE, out=vapour)
    pace, fall = powers[:2], powers[2:4]
    fall *= air.too_hot
    fall += ONE
    pace /= fall
    return pace, vapour


def moisture_factor(moisture: Array) -> Array:
    """How far water lets it rot."""
    factor: Array = moisture * -DRY_SLOPE
    factor += DRY_AT
    np.exp(factor, out=factor)
    factor += 1
    return np.divide(1, factor, out=factor)


def nitrogen_factor(of_full: Array) -> Array:
    """How far nitrogen lets it rot, by C:N against that up to which it goes at full speed."""
    factor = np.maximum(of_full, 1.0)
    factor **= -C_TO_N_POWER
    return factor


def oxygen_factor(wanted: Array, brought: Array) -> Array:
    """How far oxygen lets it rot: what air brings equals what is used, at half speed at a tenth of the air's share."""
    lacking = wanted / brought
    lacking -= _ENOUGH
    root = lacking * lacking
    root += _FOUR_HALVES
    np.sqrt(root, out=root)
    root += lacking  # share = 2 HALF / root, and the factor (1 + HALF) share / (share + HALF)
    root += _TWO
    return np.divide(_ALL, root, out=root)
