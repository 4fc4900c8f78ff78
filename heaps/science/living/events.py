"""What people do to a heap: tip, turn, move, water, cover, take out. None of it makes or loses matter.

Every event has the day on which it happens, at its beginning, and the place of its heap in the block.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from heaps.science.blend import Part
from heaps.science.living.factors import core_share
from heaps.science.living.matter import Matter, matter
from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import (
    COVERED,
    DRY_MJ_KG_K,
    MASSES,
    NOTHING_KG,
    OPEN,
    WATER_MJ_KG_K,
    Heaps,
)

#: Forking over keeps so much of the warmth: one log, 71 C fell to 49 and was back in 15 hours.
KEPT_WARMTH = 0.6
#: Turned again and again, a heap gets no looser than this against its final volume (tuned; without it a heap turned
#: weekly would grow).
LOOSEST = 1.4


@dataclass(frozen=True)
class Deposit:
    """A load tipped on top."""

    day: int
    heap: int
    part: Part
    weighed: bool = False


@dataclass(frozen=True)
class Opening:
    """What lay there already when the records begin: so many litres as they lie, of loads so many days old."""

    day: int
    heap: int
    parts: tuple[Part, ...]
    age_days: float


@dataclass(frozen=True)
class Turn:
    """The heap forked over where it lies."""

    day: int
    heap: int


@dataclass(frozen=True)
class Move:
    """A share of one heap forked into another bay, with what lies there."""

    day: int
    heap: int
    into: int
    share: float = 1.0


@dataclass(frozen=True)
class Watering:
    """Water poured on."""

    day: int
    heap: int
    water_kg: float


@dataclass(frozen=True)
class Covering:
    """A lid or sheet put on, or taken off."""

    day: int
    heap: int
    on: bool


@dataclass(frozen=True)
class Taking:
    """Compost taken out, or a share of the heap tipped elsewhere."""

    day: int
    heap: int
    share: float = 1.0


Event = Deposit | Opening | Turn | Move | Watering | Covering | Taking
#: These begin the wait for ready anew.
FEEDS = (Deposit, Opening, Move)


def concerned(event: Event) -> set[int]:
    """The heaps that an event changes."""
    return {event.heap, event.into} if isinstance(event, Move) else {event.heap}


def happen(heaps: Heaps, members: Members, event: Event, air_c: float) -> None:
    """Let one event happen."""
    for row in concerned(event):
        heaps.lately_dry_kg[row] = heaps.lately_water_kg[row] = heaps.lately_m3_kg[row] = 0.0
        heaps.may_days[row] = 0.0  # what follows is not as before
    HAPPENS[type(event)](heaps, members, event, air_c)


def _deposit(heaps: Heaps, members: Members, event: Deposit, air_c: float) -> None:
    _tip(heaps, event.heap, matter(event.part, members, event.weighed), members, air_c)


def _fork(heaps: Heaps, members: Members, event: Turn, air_c: float) -> None:
    _turn(heaps, event.heap, members, air_c)


def _water(heaps: Heaps, _members: Members, event: Watering, _air_c: float) -> None:
    heaps.water_kg[event.heap] += event.water_kg


def _cover(heaps: Heaps, _members: Members, event: Covering, _air_c: float) -> None:
    heaps.cover[event.heap] = COVERED if event.on else OPEN


def _take(heaps: Heaps, _members: Members, event: Taking, _air_c: float) -> None:
    for name in MASSES:
        getattr(heaps, name)[event.heap] *= 1 - event.share


def _tip(heaps: Heaps, row: int, load: Matter, members: Members, air_c: float) -> None:
    volume_m3 = heaps.volume_m3[row] + load.tipped_m3 / members.packing
    _mix_in(heaps, row, load, air_c)
    core = core_share(volume_m3, heaps.length_m[row], heaps.breadth_m[row], members.shell_m)
    heaps.fast_kg[row] += core * load.fast_kg
    heaps.shell_kg[row] += (1 - core) * load.fast_kg
    heaps.volume_m3_kg[row] = volume_m3 / np.maximum(heaps.dry_kg[row], NOTHING_KG)


def _mix_in(heaps: Heaps, row: int, load: Matter, air_c: float) -> None:
    """All but the fast matter, of which core and shell get their part once the new volume is known."""
    heat = heaps.heat_mj_k[row]
    new_heat = DRY_MJ_KG_K * load.dry_kg + WATER_MJ_KG_K * load.water_kg
    heaps.core_c[row] = (heat * heaps.core_c[row] + new_heat * air_c) / np.maximum(heat + new_heat, NOTHING_KG)
    heaps.slow_rate[row] = _mean_rate(heaps.slow_kg[row], heaps.slow_rate[row], load.slow_kg, load.slow_rate)
    heaps.slow_kg[row] += load.slow_kg
    heaps.refractory_kg[row] += load.refractory_kg
    heaps.ash_kg[row] += load.ash_kg
    heaps.nitrogen_kg[row] += load.nitrogen_kg
    heaps.carbon_kg[row] += load.carbon_kg
    heaps.water_kg[row] += load.water_kg
    heaps.degradable_in_kg[row] += load.degradable_kg


def _mean_rate(kg: Array, rate: Array, new_kg: Array, new_rate: Array | float) -> Array:
    mean: Array = (kg * rate + new_kg * new_rate) / np.maximum(kg + new_kg, NOTHING_KG)
    return mean


def _open(heaps: Heaps, members: Members, event: Opening, air_c: float) -> None:
    """Litres as they lie, that have rotted at the air's mean and sunk for their age. Their volume is what is known."""
    for part in event.parts:
        fresh = matter(part, members, guessed=True)
        organic_kg = fresh.degradable_kg + fresh.refractory_kg
        fast_kg = fresh.fast_kg * np.exp(-members.fast_per_day * event.age_days)
        slow_kg = fresh.slow_kg * np.exp(-members.slow_per_day * fresh.slow_rate * event.age_days)
        dry_kg = fast_kg + slow_kg + fresh.refractory_kg + fresh.ash_kg
        sunk = np.exp(-members.settling_per_day * event.age_days)
        loose = fresh.tipped_m3 / members.packing / np.maximum(fresh.dry_kg, NOTHING_KG)
        lies = np.where(loose > members.final_m3_kg, members.final_m3_kg + (loose - members.final_m3_kg) * sunk, loose)
        more = (part.volume_l / 1000) / np.maximum(lies * dry_kg, NOTHING_KG)
        left = (fast_kg + slow_kg + fresh.refractory_kg) / np.maximum(organic_kg, NOTHING_KG)
        aged = Matter(
            fast_kg=fast_kg * more,
            slow_kg=slow_kg * more,
            refractory_kg=fresh.refractory_kg * more,
            ash_kg=fresh.ash_kg * more,
            nitrogen_kg=fresh.nitrogen_kg * more,
            carbon_kg=fresh.carbon_kg * left * more,
            water_kg=fresh.water_kg * left * more,
            slow_rate=fresh.slow_rate,
            tipped_m3=np.full(members.count, part.volume_l / 1000) * members.packing,
        )
        _tip(heaps, event.heap, aged, members, air_c)
        heaps.degradable_in_kg[event.heap] += (fresh.degradable_kg - fast_kg - slow_kg) * more


def _turn(heaps: Heaps, row: int, members: Members, air_c: float) -> None:
    heaps.volume_m3_kg[row] = _loosened(heaps.volume_m3_kg[row], members)
    _split_anew(heaps, row, members)
    heaps.core_c[row] = air_c + KEPT_WARMTH * (heaps.core_c[row] - air_c)


def _loosened(volume_m3_kg: Array, members: Members) -> Array:
    """A fork makes it looser, but not for ever: what was turned last week has still to settle."""
    loosest = np.maximum(volume_m3_kg, LOOSEST * members.final_m3_kg)
    loose: Array = np.minimum(volume_m3_kg * (1 + members.fluff), loosest)
    return loose


def _split_anew(heaps: Heaps, row: int, members: Members) -> None:
    """What was cold shell comes in, what was core goes out: both are mixed, and the shell is a share of all."""
    core = core_share(heaps.volume_m3[row], heaps.length_m[row], heaps.breadth_m[row], members.shell_m)
    pooled_kg = heaps.fast_kg[row] + heaps.shell_kg[row]
    heaps.fast_kg[row] = core * pooled_kg
    heaps.shell_kg[row] = pooled_kg - heaps.fast_kg[row]


def _move(heaps: Heaps, members: Members, event: Move, air_c: float) -> None:
    """Volumes add, the moved one loosened; then as a turn, but what lay there is not loosened."""
    giver, taker, share = event.heap, event.into, event.share
    if giver == taker:
        _turn(heaps, giver, members, air_c)
        return
    loose_m3 = _loosened(heaps.volume_m3_kg[giver], members) * heaps.dry_kg[giver]
    volume_m3 = heaps.volume_m3[taker] + share * loose_m3
    heat, new_heat = heaps.heat_mj_k[taker], share * heaps.heat_mj_k[giver]
    warm_c = heat * heaps.core_c[taker] + new_heat * heaps.core_c[giver]
    heaps.core_c[taker] = warm_c / np.maximum(heat + new_heat, NOTHING_KG)
    heaps.slow_rate[taker] = _mean_rate(
        heaps.slow_kg[taker], heaps.slow_rate[taker], share * heaps.slow_kg[giver], heaps.slow_rate[giver]
    )
    for name in MASSES:
        mass = getattr(heaps, name)
        moved = share * mass[giver]
        mass[taker] += moved
        mass[giver] -= moved
    heaps.volume_m3_kg[taker] = volume_m3 / np.maximum(heaps.dry_kg[taker], NOTHING_KG)
    _split_anew(heaps, taker, members)
    heaps.core_c[taker] = air_c + KEPT_WARMTH * (heaps.core_c[taker] - air_c)


HAPPENS: dict[type, Callable[[Heaps, Members, Any, float], None]] = {
    Deposit: _deposit,
    Opening: _open,
    Turn: _fork,
    Move: _move,
    Watering: _water,
    Covering: _cover,
    Taking: _take,
}
