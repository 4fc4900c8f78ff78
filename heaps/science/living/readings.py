"""What was read of a heap: what is believed, what is set aside and why, and what the rest boils down to."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby, pairwise

import numpy as np

from heaps.science.living.parameters import Array

#: A heap is no colder than frost lets it and no hotter than what burns (80 C is a fire: advice.FIRE_C).
COLDEST_C, HOTTEST_C = -15.0, 90.0
#: So many readings the same to the tenth of a degree over so many days are a probe's, not a heap's (common practice).
STUCK_TIMES, STUCK_DAYS = 5, 14
#: A mark on a bay wall: no more than twice what the bay holds.
FULLEST = 2.0
#: Errors of what is made of readings: kelvin, and of ln(volume). Those of one kind go together.
MEAN_K, MOST_K, LATELY_K, FILL_LN, TOGETHER = 4.0, 10.0, 6.0, 0.14, 0.3
LATELY_DAYS, LONG_SILENCE_DAYS = 28, 60


class Why(StrEnum):
    """Why a reading is not believed, or that there is none."""

    IMPOSSIBLE = "no heap is so hot or so cold"
    STUCK = "the probe showed the same again and again"
    TOO_FULL = "more than twice what the bay holds"
    NOT_YET = "read before anything lay there"
    SILENCE = "nobody read it for months"


@dataclass(frozen=True)
class Warmth:
    """A probe in the core on a day, and the air if it was read."""

    day: int
    core_c: float
    air_c: float | None = None
    probe: str = ""


@dataclass(frozen=True)
class Fill:
    """A mark on the wall on a day: what the heap takes up, as a share of its bay."""

    day: int
    share: float


@dataclass(frozen=True)
class Aside:
    """One reading that was set aside, or a silence that begins on that day."""

    day: int
    why: Why
    value: float | None = None


@dataclass(frozen=True)
class Believed:
    """What is left to go by."""

    warmths: tuple[Warmth, ...]
    fills: tuple[Fill, ...]
    aside: tuple[Aside, ...]


@dataclass(frozen=True)
class Seen:
    """What readings boil down to (features), what every member makes of the same, and how well it is known."""

    values: Array
    members: Array
    error: Array


def believe(warmths: Sequence[Warmth], fills: Sequence[Fill], begins: int, today: int) -> Believed:
    """Set aside what cannot be; in whatever order it arrived."""
    aside = [Aside(one.day, Why.NOT_YET, one.core_c) for one in warmths if one.day < begins]
    aside += [Aside(one.day, Why.NOT_YET, one.share) for one in fills if one.day < begins]
    possible, full = [], []
    for one in sorted((one for one in warmths if one.day >= begins), key=lambda one: one.day):
        if COLDEST_C <= one.core_c <= HOTTEST_C:
            possible.append(one)
        else:
            aside.append(Aside(one.day, Why.IMPOSSIBLE, one.core_c))
    stuck = _stuck(possible)
    aside += [Aside(one.day, Why.STUCK, one.core_c) for one in stuck]
    for mark in sorted((one for one in fills if one.day >= begins), key=lambda one: one.day):
        if 0 < mark.share <= FULLEST:
            full.append(mark)
        else:
            aside.append(Aside(mark.day, Why.TOO_FULL, mark.share))
    kept = tuple(one for one in possible if one not in stuck)
    aside += _silences([*(one.day for one in kept), *(one.day for one in full)], begins, today)
    return Believed(kept, tuple(full), tuple(sorted(aside, key=lambda one: (one.day, one.why))))


def without_newest(believed: Believed) -> Believed:
    """All but what was read on the last day on which something was."""
    last = max([one.day for one in believed.warmths] + [one.day for one in believed.fills], default=0)
    warmths = tuple(one for one in believed.warmths if one.day != last)
    return replace(believed, warmths=warmths, fills=tuple(one for one in believed.fills if one.day != last))


def boil_down(
    believed: Believed, core_c: Array, air_c: Array, volume_m3: Array, bay_m3: float, closed: int | None
) -> Seen | None:
    """Features of the readings while filling and after closing, and the same of each member (days x members)."""
    last = len(core_c) - 1
    features: list[tuple[float, Array, float, str]] = []
    for begin, end in ((0, last + 1),) if closed is None else ((0, closed), (closed, last + 1)):
        warm = [one for one in believed.warmths if begin <= one.day < min(end, last + 1)]
        fill = [one for one in believed.fills if begin <= one.day < min(end, last + 1)]
        features += _warm(warm, core_c, air_c)
        features += [_full(one, volume_m3, bay_m3) for one in _half_and_last(fill)]
    if not features:
        return None
    errors = np.array([error for _, _, error, _ in features])
    kinds = np.array([kind for *_, kind in features])
    alike = np.where(kinds[:, None] == kinds[None, :], TOGETHER, 0.0)
    np.fill_diagonal(alike, 1.0)
    values = np.array([value for value, *_ in features])
    return Seen(values, np.array([ours for _, ours, *_ in features]), alike * np.outer(errors, errors))


def _stuck(warmths: Sequence[Warmth]) -> list[Warmth]:
    stuck: list[Warmth] = []
    for probe in {one.probe for one in warmths}:
        of_probe = [one for one in warmths if one.probe == probe]
        for _, same in groupby(of_probe, key=lambda one: round(one.core_c, 1)):
            alike = list(same)
            if len(alike) >= STUCK_TIMES and alike[-1].day - alike[0].day >= STUCK_DAYS:
                stuck += alike
    return stuck


def _silences(days: Sequence[int], begins: int, today: int) -> list[Aside]:
    stops = [begins, *sorted(days), today]
    return [Aside(before, Why.SILENCE) for before, after in pairwise(stops) if after - before >= LONG_SILENCE_DAYS]


def _warm(warmths: Sequence[Warmth], core_c: Array, air_c: Array) -> list[tuple[float, Array, float, str]]:
    if not warmths:
        return []
    days = np.array([one.day for one in warmths])
    airs = np.array([air_c[one.day] if one.air_c is None else one.air_c for one in warmths])
    read, ours = np.array([one.core_c for one in warmths]) - airs, core_c[days] - air_c[days][:, None]
    lately = days > days[-1] - LATELY_DAYS
    return [
        (float(read.mean()), ours.mean(axis=0), MEAN_K, "warmth"),
        (float(read.max()), ours.max(axis=0), MOST_K, "warmth"),
        (float(read[lately].mean()), ours[lately].mean(axis=0), LATELY_K, "warmth"),
    ]


def _half_and_last(fills: Sequence[Fill]) -> list[Fill]:
    if len(fills) < 2:
        return list(fills)
    half = (fills[0].day + fills[-1].day) / 2
    return [min(fills[:-1], key=lambda one: abs(one.day - half)), fills[-1]]


def _full(fill: Fill, volume_m3: Array, bay_m3: float) -> tuple[float, Array, float, str]:
    ours = np.log(np.maximum(volume_m3[fill.day], 1e-6))
    return float(np.log(fill.share * bay_m3)), ours, FILL_LN, "fill"
