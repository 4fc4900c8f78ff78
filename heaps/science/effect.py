"""What one load does to a heap, as far as sums can tell. A phone reckons the same without a network (effect.js)."""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from heaps.science.advice import (
    AIM_C_TO_N,
    AIM_MOISTURE,
    BROWN_C_TO_N,
    DRY_MOISTURE,
    ENOUGH_BROWN_C_TO_N,
    RICH_C_TO_N,
    WET_MOISTURE,
    times_to_c_to_n,
    times_to_moisture,
)
from heaps.science.blend import Mix
from heaps.science.targets import IDEAL, MOST_AT_ONCE

#: What is dry is watered up to the lower ideal (COR-MIX, read).
MOIST = IDEAL.moisture[0]
#: A watering can, in litres (common practice): water is said in whole ones.
CAN_L = 10
#: More of the same is neither better nor worse, however the last digits fall.
JUST_MORE = 1e-9


class Does(StrEnum):
    """What a heap is with the load. A phone has a line of plain words for each but NOTHING."""

    FULL = "full"  # no room is left
    RICH = "rich"  # too green
    WET = "wet"  # and browns would dry it
    COVER = "cover"  # wet with browns enough
    DRY = "dry"
    BROWN = "brown"  # too brown
    HELPS = "helps"  # the heap was one of these, and the load makes it less so
    NOTHING = ""


@dataclass(frozen=True)
class Effect:
    """What a load does, and how much to add to it: containers of the brown or green, litres of water if dry."""

    does: Does
    amount: int | None = None


@dataclass(frozen=True)
class Remedies:
    """One container of the usual brown, and one of the usual green; None where there is none."""

    brown: Mix | None = None
    green: Mix | None = None


def effect(heap: Mix, load: Mix, room_l: float | None, usual: Remedies) -> Effect:
    """What `load` does to `heap`. `room_l` is what still fits in, as litres in the heap; None if nobody knows.

    A heap that the load makes better is told nothing else. Where it makes it worse, the amount is what brings the
    load alone into range, or the whole heap if that is less: nobody is asked to mend on the way what others left.
    """
    if room_l is not None and load.heap_l >= room_l:
        return Effect(Does.FULL)
    whole = heap + load
    does = trouble(whole)
    if does == Does.NOTHING:
        return Effect(Does.HELPS if trouble(heap) else Does.NOTHING)
    if heap.dry_kg > 0 and _betters(does, heap, load):
        return Effect(Does.HELPS)
    return Effect(does, _amount(does, [load, whole], usual))


def trouble(mix: Mix) -> Does:
    """What is wrong with a mix, what presses most first; nothing if it is in range or not there."""
    if mix.dry_kg <= 0:
        return Does.NOTHING
    c_to_n, moisture = _c_to_n(mix), _moisture(mix)
    if c_to_n < RICH_C_TO_N:
        return Does.RICH
    if moisture > WET_MOISTURE:
        return Does.WET if c_to_n < ENOUGH_BROWN_C_TO_N else Does.COVER
    if moisture < DRY_MOISTURE:
        return Does.DRY
    return Does.BROWN if c_to_n > BROWN_C_TO_N else Does.NOTHING


def _betters(does: Does, heap: Mix, load: Mix) -> bool:
    better, worse = (load, heap) if does in (Does.RICH, Does.DRY) else (heap, load)
    measure = _c_to_n if does in (Does.RICH, Does.BROWN) else _moisture
    return measure(better) > measure(worse) * (1 + JUST_MORE)


def _amount(does: Does, mixes: list[Mix], usual: Remedies) -> int | None:
    if does == Does.COVER:
        return None
    if does == Does.DRY:
        litres = min((MOIST * mix.wet_kg - mix.water_kg) / (1 - MOIST) for mix in mixes)
        return ceil(litres / CAN_L - JUST_MORE) * CAN_L
    unit = usual.green if does == Does.BROWN else usual.brown
    times = [_times(does, mix, unit) for mix in mixes] if unit else []
    least = min((one for one in times if one is not None), default=None)
    return None if least is None else min(max(1, ceil(least - JUST_MORE)), MOST_AT_ONCE)


def _times(does: Does, mix: Mix, unit: Mix) -> float | None:
    if does == Does.BROWN:
        lacks = mix.carbon_kg - ENOUGH_BROWN_C_TO_N * mix.nitrogen_kg
        brings = ENOUGH_BROWN_C_TO_N * unit.nitrogen_kg - unit.carbon_kg
        return 0.0 if lacks <= 0 else lacks / brings if brings > 0 else None
    balanced = times_to_c_to_n(mix, unit, AIM_C_TO_N)
    if _moisture(mix) <= WET_MOISTURE:
        return balanced
    aims = times_to_moisture(mix, unit, AIM_MOISTURE), times_to_c_to_n(mix, unit, ENOUGH_BROWN_C_TO_N)
    drying = min((one for one in aims if one is not None), default=None)
    return None if balanced is None or drying is None else max(balanced, drying)


def _c_to_n(mix: Mix) -> float:
    return mix.c_to_n or 0.0


def _moisture(mix: Mix) -> float:
    return mix.moisture_fraction or 0.0
