"""What people do to a heap: tip, turn, move, water, cover, take out. None of it makes or loses matter.

Every event has the day on which it happens, at its beginning, and the place of its heap in the block.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import numpy as np

from heaps.science.blend import Part
from heaps.science.living.factors import core_share
from heaps.science.living.matter import Matter, in_rows, matter
from heaps.science.living.parameters import Array, Members
from heaps.science.living.state import (
    ASH,
    CARBON,
    COVERED,
    DEGRADABLE_IN,
    DRY,
    DRY_MJ_KG_K,
    FAST,
    NITROGEN,
    NOTHING_KG,
    OPEN,
    REFRACTORY,
    SHELL,
    SLOW,
    WATER,
    WATER_MJ_KG_K,
    Heaps,
    summed,
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


@dataclass(frozen=True)
class Deposits:
    """Loads tipped onto one heap one after another: together they take a fraction of the time."""

    day: int
    heap: int
    loads: tuple[Deposit, ...]


Happening = Event | Deposits
#: These begin the wait for ready anew.
FEEDS = (Deposit, Deposits, Opening, Move)


def together(events: Iterable[Event]) -> Iterator[Happening]:
    """What happens on a day, in its order; loads that are tipped one after another as one."""
    for heap, alike in groupby(events, lambda one: one.heap if isinstance(one, Deposit) else None):
        if heap is None:
            yield from alike
        else:
            loads = tuple(one for one in alike if isinstance(one, Deposit))
            yield Deposits(loads[0].day, heap, loads)


def concerned(event: Happening) -> set[int]:
    """The heaps that an event changes."""
    return {event.heap, event.into} if isinstance(event, Move) else {event.heap}


def happen(heaps: Heaps, members: Members, event: Happening, air_c: float) -> None:
    """Let one event happen."""
    for row in concerned(event):
        heaps.lately[:, row] = 0.0
        heaps.may_days[row] = 0.0  # what follows is not as before
    HAPPENS[type(event)](heaps, members, event, air_c)


def _deposit(heaps: Heaps, members: Members, event: Deposit, air_c: float) -> None:
    _tip(heaps, event.heap, [matter(event.part, members, event.weighed)], members, air_c)


def _deposits(heaps: Heaps, members: Members, event: Deposits, air_c: float) -> None:
    _tip(heaps, event.heap, [matter(one.part, members, one.weighed) for one in event.loads], members, air_c)


def _fork(heaps: Heaps, members: Members, event: Turn, air_c: float) -> None:
    _turn(heaps, event.heap, members, air_c)


def _water(heaps: Heaps, _members: Members, event: Watering, _air_c: float) -> None:
    heaps.water_kg[event.heap] += event.water_kg


def _cover(heaps: Heaps, _members: Members, event: Covering, _air_c: float) -> None:
    heaps.cover[event.heap] = COVERED if event.on else OPEN


def _take(heaps: Heaps, _members: Members, event: Taking, _air_c: float) -> None:
    heaps.masses_kg[:, event.heap] *= 1 - event.share


def _tip(heaps: Heaps, row: int, loads: Sequence[Matter], members: Members, air_c: float) -> None:
    """Loads one after another: of the fast matter of each, core and shell get their part by the volume then."""
    masses_kg = np.array([load.masses_kg for load in loads])
    tipped_m3 = np.array([load.tipped_m3 for load in loads]).cumsum(axis=0)
    volume_m3 = heaps.volume_m3[row] + tipped_m3 / members.packing
    core_kg = core_share(volume_m3, heaps.length_m[row], heaps.breadth_m[row], members.shell_m) * masses_kg[:, FAST]
    slow_rate = np.array([[load.slow_rate] for load in loads])
    load_kg, slow_kg_rate = summed(masses_kg), summed(slow_rate * masses_kg[:, SLOW])
    load_kg[SHELL] = load_kg[FAST] - summed(core_kg)
    load_kg[FAST] -= load_kg[SHELL]
    heat, new_heat = heaps.heat_mj_k[row], DRY_MJ_KG_K * summed(load_kg[DRY]) + WATER_MJ_KG_K * load_kg[WATER]
    heaps.core_c[row] = (heat * heaps.core_c[row] + new_heat * air_c) / np.maximum(heat + new_heat, NOTHING_KG)
    slow_kg_rate += heaps.slow_kg[row] * heaps.slow_rate[row]
    heaps.masses_kg[:, row] += load_kg
    heaps.slow_rate[row] = slow_kg_rate / np.maximum(heaps.slow_kg[row], NOTHING_KG)
    heaps.volume_m3_kg[row] = volume_m3[-1] / np.maximum(heaps.dry_kg[row], NOTHING_KG)


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
        aged_kg = in_rows(
            {
                FAST: fast_kg * more,
                SLOW: slow_kg * more,
                REFRACTORY: fresh.refractory_kg * more,
                ASH: fresh.ash_kg * more,
                NITROGEN: fresh.nitrogen_kg * more,
                CARBON: fresh.carbon_kg * left * more,
                DEGRADABLE_IN: fresh.degradable_kg * more,
                WATER: fresh.water_kg * left * more,
            }
        )
        lies_m3 = np.full(members.count, part.volume_l / 1000)
        _tip(heaps, event.heap, [Matter(aged_kg, fresh.slow_rate, lies_m3 * members.packing)], members, air_c)


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
    moved_kg = share * heaps.masses_kg[:, giver]
    heaps.masses_kg[:, taker] += moved_kg
    heaps.masses_kg[:, giver] -= moved_kg
    heaps.volume_m3_kg[taker] = volume_m3 / np.maximum(heaps.dry_kg[taker], NOTHING_KG)
    _split_anew(heaps, taker, members)
    heaps.core_c[taker] = air_c + KEPT_WARMTH * (heaps.core_c[taker] - air_c)


HAPPENS: dict[type, Callable[[Heaps, Members, Any, float], None]] = {
    Deposit: _deposit,
    Deposits: _deposits,
    Opening: _open,
    Turn: _fork,
    Move: _move,
    Watering: _water,
    Covering: _cover,
    Taking: _take,
}
