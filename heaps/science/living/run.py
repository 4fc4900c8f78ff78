"""A block of heaps through its days: what happens to it, and what it is like each evening."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from heaps.science.climate import Climate, evaporation_mm
from heaps.science.living.breakdown import Place, Weather, live
from heaps.science.living.events import FEEDS, Event, Move, concerned, happen
from heaps.science.living.parameters import Array, Members
from heaps.science.living.ready import NEVER, Waiting
from heaps.science.living.state import NOTHING_KG, Bay, Evening, Heaps, Rows, empty
from heaps.science.living.stretches import stretches

#: The air as a heap feels it: its mean over so many days.
SMOOTH_DAYS = 7


@dataclass(frozen=True)
class Course:
    """What became of a block: each evening's core and volume (days x heaps x members); since each heap was last fed
    (heaps x members, a day; NEVER), when somebody would call it ready, its volume then or at the end, and when a
    breathing test would say so, too; how it lay in the morning that was asked for, and how it lies at the end."""

    core_c: Array
    volume_m3: Array
    gone: Array
    air_c: Array
    called_day: Array
    called_m3: Array
    ready_day: Array
    fed_day: Array
    noted: Heaps | None
    end: Heaps


def weathers(climate: Climate, begins: date, days: int) -> list[Weather]:
    """The days of a usual year, from a day on."""
    usual = [climate.on(begins + timedelta(days=day)) for day in range(days)]
    return [Weather(air_c, rain_mm, evaporation_mm(air_c)) for air_c, rain_mm in usual]


def run(
    bays: Sequence[Bay],
    events: Iterable[Event],
    members: Members,
    days: Sequence[Weather],
    note_on: int | None = None,
) -> Course:
    """All heaps of a block through all days. Heaps that move into each other must be in one block.

    Events after the last day are left out. `note_on` is a morning, after that day's events, of which all is kept.
    """
    by_day: dict[int, list[Event]] = defaultdict(list)
    for event in events:
        by_day[event.day].append(event)
    undisturbed = _Undisturbed.between(by_day, len(bays), {len(days), *([] if note_on is None else [note_on])})
    noted, heaps = None, empty(bays, members.count, days[0].air_c)
    waiting, place = Waiting.of(heaps, members), Place.of(heaps, members)
    core_c, volume_m3, gone = (np.empty((len(days), len(bays), members.count)) for _ in range(3))
    air_c = np.array([weather.air_c for weather in days])
    smooth_c = _smooth(air_c)
    for day, weather in enumerate(days):
        for event in by_day.get(day, ()):
            _let(event, heaps, members, weather.air_c, waiting)
        if day == note_on:
            noted = deepcopy(heaps)
        if min(undisturbed.until) > day:
            continue
        for at_once, rows in stretches(heaps, day, undisturbed.days_from(day)):
            some, on = heaps.some(rows), slice(day, day + at_once)
            evenings = _live(some, days[on], place.some(rows))
            heaps.put(rows, some)
            core_c[on, rows], volume_m3[on, rows], gone[on, rows] = evenings.core_c, evenings.volume_m3, evenings.gone
            waiting.look(rows, day, some, evenings, members, smooth_c[on, None, None])
            undisturbed.lived(rows, day + at_once)
    called_m3 = np.where(waiting.called_day == NEVER, heaps.volume_m3, waiting.called_m3)
    waits = waiting.called_day, called_m3, waiting.ready_day, waiting.fed_day
    return Course(core_c, volume_m3, gone, air_c, *waits, noted, heaps)


def _smooth(air_c: Array) -> Array:
    """The mean of each day and those before it, of fewer at the beginning."""
    total = np.concatenate([np.zeros(SMOOTH_DAYS), np.cumsum(air_c)])
    smooth: Array = (total[SMOOTH_DAYS:] - total[:-SMOOTH_DAYS]) / np.minimum(np.arange(len(air_c)) + 1, SMOOTH_DAYS)
    return smooth


def _let(event: Event, heaps: Heaps, members: Members, air_c: float, waiting: Waiting) -> None:
    """One thing happens, and a heap may have to wait anew."""
    fresh_place = isinstance(event, Move) and heaps.dry_kg[event.into].max() <= NOTHING_KG
    happen(heaps, members, event, air_c)
    if isinstance(event, Move) and fresh_place:
        waiting.moved(event.heap, event.into, event.share)
    elif isinstance(event, FEEDS):
        waiting.fed(event.day, event.into if isinstance(event, Move) else event.heap)


def _live(heaps: Heaps, days: Sequence[Weather], place: Place) -> Evening:
    """All evenings of a stretch."""
    before = Evening.of(heaps) if len(days) > 1 else None
    live(heaps, Weather.over(days), place, len(days))
    return Evening.of(heaps).since(before, len(days))


@dataclass(frozen=True)
class _Undisturbed:
    """The days on which something happens to each heap or all is stopped, and until when each has lived."""

    stops: list[list[int]]
    until: list[int]

    @classmethod
    def between(cls, by_day: Mapping[int, Sequence[Event]], heaps: int, always: set[int]) -> "_Undisturbed":
        stops = [set(always) for _ in range(heaps)]
        for day, events in by_day.items():
            for row in set().union(*(concerned(event) for event in events)):
                stops[row].add(day)
        return cls([sorted(of_one) for of_one in stops], [0] * heaps)

    def days_from(self, day: int) -> list[int]:
        """How long nothing happens to each heap from a morning on; 0 for those that have lived through it."""
        return [
            stops[bisect_right(stops, day)] - day if until == day else 0
            for stops, until in zip(self.stops, self.until, strict=True)
        ]

    def lived(self, rows: Rows, until: int) -> None:
        for row in np.arange(len(self.until))[rows].tolist():
            self.until[row] = until
