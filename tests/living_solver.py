"""The living heap by SciPy's general solver, all members of all heaps stacked in one vector.

The equations are written out anew, and nothing stands still within a day. What people do is the programme's own code.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from heaps.science.living.breakdown import Weather
from heaps.science.living.events import Event, happen
from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import Bay, Heaps, empty

MOVING = ("fast_kg", "shell_kg", "slow_kg", "water_kg", "core_c", "volume_m3_kg")
TINY = 1e-9


class Solved:
    """Each evening's core, dry matter and volume (days x heaps x members), and how often the equations were asked."""

    def __init__(self, days: int, shape: tuple[int, int]) -> None:
        self.core_c, self.dry_kg, self.volume_m3 = (np.zeros((days, *shape)) for _ in range(3))
        self.asked = 0


def solved(
    bays: Sequence[Bay], events: Iterable[Event], members: Members, days: Sequence[Weather], **how: Any
) -> Solved:
    """`how` goes to `solve_ivp`: method, rtol, atol."""
    by_day: dict[int, list[Event]] = defaultdict(list)
    for event in events:
        by_day[event.day].append(event)
    heaps = empty(bays, members.count, float(np.mean(days[0].air_c)))
    out = Solved(len(days), heaps.core_c.shape)
    stops = sorted({0, *(day for day in by_day if day < len(days)), len(days)})
    for begin, end in pairwise(stops):
        for event in by_day.get(begin, ()):
            happen(heaps, members, event, days[begin].air_c)
        _between(heaps, members, days, (begin, end), out, how)
    return out


def _between(
    heaps: Heaps, members: Members, days: Sequence[Weather], span: tuple[int, int], out: Solved, how: dict[str, Any]
) -> None:
    begin, end = span
    shape = heaps.core_c.shape
    held = heaps.refractory_kg + heaps.ash_kg
    carbon_share = heaps.carbon_kg / np.maximum(heaps.organic_kg, TINY)
    start = np.concatenate([getattr(heaps, name).ravel() for name in MOVING])
    moving, evenings = rates(heaps, members, days, carbon_share), np.arange(begin + 1, end + 1)
    with np.errstate(over="ignore", invalid="ignore"):  # a step that goes too far is tried and refused
        found = solve_ivp(moving, span, start, t_eval=evenings, **how)
    assert found.success, found.message
    out.asked += found.nfev
    told = found.y.T.reshape(end - begin, len(MOVING), *shape)
    dry = told[:, :3].sum(axis=1) + held
    out.core_c[begin:end], out.dry_kg[begin:end] = told[:, 4], dry
    out.volume_m3[begin:end] = told[:, 5] * dry
    for place, name in enumerate(MOVING):
        setattr(heaps, name, np.maximum(told[-1, place], 0.0) if name != "core_c" else told[-1, place])
    heaps.carbon_kg = carbon_share * heaps.organic_kg


def rates(  # noqa: PLR0915 - one page of equations, as they are written
    heaps: Heaps, members: Members, days: Sequence[Weather], carbon_share: Array
) -> Callable[[float, Array], Array]:
    """dy/dt of everything that moves. What stands still between events is worked out once."""
    shape, p, last = heaps.core_c.shape, members, len(days) - 1
    ground, sides = heaps.length_m * heaps.breadth_m, 2 * (1 / heaps.length_m + 1 / heaps.breadth_m)
    refractory, ash, nitrogen = heaps.refractory_kg, heaps.ash_kg, np.maximum(heaps.nitrogen_kg, TINY)
    floor = np.maximum(1 - 2 * p.shell_m / heaps.length_m, 0.05) * np.maximum(1 - 2 * p.shell_m / heaps.breadth_m, 0.05)
    slow_rate, lies = p.slow_per_day * heaps.slow_rate, heaps.dry_kg > TINY
    bare, closed = ground * (1 - 0.8 * heaps.cover), 1 - heaps.cover
    ln = np.log(1.066)

    def moving(t: float, y: Array) -> Array:  # noqa: PLR0915 - one system of equations, as it is published
        fast, shell, slow, water, core, v = y.reshape(6, *shape)
        weather = days[min(int(t), last)]
        air = weather.air_c
        organic = fast + shell + slow + refractory
        dry = np.maximum(organic + ash, TINY)
        volume = np.maximum(v * dry, TINY)
        side = sides * volume
        wet_share = water / np.maximum(water + dry, TINY)
        c_to_n = np.maximum(carbon_share * organic / nitrogen, 1.0)
        allowed = np.minimum(1.0, (35 / c_to_n) ** 0.7) / (1 + np.exp(7.0622 - 17.684 * wet_share))
        fas = np.maximum(1 - (organic / 1600 + ash / 2500 + water / 1000) / volume, 0.0)
        phi = floor * np.maximum(1 - 1.5 * p.shell_m * ground / volume, 0.05)
        over = core - air
        skin = air + 0.4 * over
        k_core = np.exp(ln * (core - 20)) / (1 + np.exp((core - 61) / 3))
        k_skin = np.exp(ln * (skin - 20)) / (1 + np.exp((skin - 61) / 3))
        r_fast = p.fast_per_day * k_core * allowed
        r_shell = p.shell_factor * p.fast_per_day * k_skin * allowed
        r_slow = slow_rate * (phi * k_core + (1 - phi) * k_skin) * allowed
        air_flow = (ground + 0.25 * side) * (fas / 0.6) ** 3 * p.air * (2 + 6 * np.maximum(over, 0) / 40)
        g = np.maximum(0.28 * air_flow, TINY)
        d = 1.4 * (r_fast * fast + r_shell * shell + r_slow * slow)
        b = d - 0.9 * g
        pore = 0.2 * g / (np.sqrt(b * b + 0.4 * g * g) + b)
        f_o = 1.1 * pore / (pore + 0.1)
        d_fast, d_shell, d_slow = -f_o * r_fast * fast, -f_o * r_shell * shell, -f_o * r_slow * slow
        loss = -(d_fast + d_shell + d_slow)
        dampness = 610.8 * np.exp(17.27 * core / (core + 237.3)) / (461.5 * (core + 273.15))
        outside = 0.8 * 610.8 * np.exp(17.27 * air / (air + 237.3)) / (461.5 * (air + 273.15))
        vapour = air_flow * np.maximum(dampness - outside, 0) * water / np.maximum(water + 0.3 * dry, TINY)
        ua = 0.0864 * (1.5 * ground + side) / (0.083 + 0.28 * np.cbrt(volume) / p.conductivity_w_mk)
        heat_held = np.maximum(0.0013 * dry + 0.00419 * water, TINY)
        d_core = np.where(lies, p.heat_mj_kg * loss - (ua + 0.0012 * air_flow) * over - 2.44 * vapour, 0) / heat_held
        cap = p.held_water * (fast + shell + slow + 0.68 * refractory + 0.18 * ash)
        drying = weather.evaporation_mm * (bare + 0.05 * side) * water / np.maximum(water + 0.8 * dry, TINY)
        rain = np.where(lies, weather.rain_mm * ground * closed, 0.0)
        d_water = 0.55 * loss - vapour - drying + rain - 0.7 * np.maximum(water - cap, 0)
        d_v = -np.maximum(v - p.final_m3_kg, 0) * (p.settling_per_day + p.settling_by_loss * loss / dry)
        return np.concatenate([one.ravel() for one in (d_fast, d_shell, d_slow, d_water, d_core, d_v)])

    return moving
