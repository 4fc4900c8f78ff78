"""A block of heaps through its days: what happens to it, and what it is like each evening."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from heaps.science.climate import Climate, evaporation_mm
from heaps.science.living.breakdown import Weather, live
from heaps.science.living.events import FEEDS, Event, Happening, Move, concerned, happen, together
from heaps.science.living.parameters import Array, Members
from heaps.science.living.place import Place
from heaps.science.living.ready import NEVER, Waiting
from heaps.science.living.state import NOTHING_KG, Bay, Evenings, Heaps, Rows, empty
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
    noted, block = None, _Block.of(bays, members, days)
    for day in range(len(days)):
        for what in together(by_day.get(day, ())):
            block.let(what)
        if day == note_on:
            noted = deepcopy(block.heaps)
        if min(undisturbed.until) > day:
            continue
        for at_once, rows in stretches(block.heaps, day, undisturbed.days_from(day)):
            block.live(rows, day, at_once)
            undisturbed.lived(rows, day + at_once)
    return block.course(noted)


def _smooth(air_c: Array) -> Array:
    """The mean of each day and those before it, of fewer at the beginning."""
    total = np.concatenate([np.zeros(SMOOTH_DAYS), np.cumsum(air_c)])
    smooth: Array = (total[SMOOTH_DAYS:] - total[:-SMOOTH_DAYS]) / np.minimum(np.arange(len(air_c)) + 1, SMOOTH_DAYS)
    return smooth


@dataclass
class _Block:
    """Some heaps, and what is told of them."""

    heaps: Heaps
    members: Members
    days: Sequence[Weather]
    air_c: Array
    smooth_c: Array
    place: Place
    waiting: Waiting
    evenings: Evenings

    @classmethod
    def of(cls, bays: Sequence[Bay], members: Members, days: Sequence[Weather]) -> "_Block":
        heaps, air_c = empty(bays, members.count, days[0].air_c), np.array([weather.air_c for weather in days])
        waiting, evenings = Waiting.of(heaps, members), Evenings(len(days), heaps)
        return cls(heaps, members, days, air_c, _smooth(air_c), Place.of(heaps, members), waiting, evenings)

    def let(self, what: Happening) -> None:
        """One thing happens, and a heap may have to wait anew."""
        heaps, waiting = self.heaps, self.waiting
        for row in concerned(what):
            self.look(row, what.day)
        fresh_place = isinstance(what, Move) and heaps.dry_kg[what.into].max() <= NOTHING_KG
        happen(heaps, self.members, what, self.days[what.day].air_c)
        self.place.look_at(concerned(what), heaps, self.members)
        if isinstance(what, Move) and fresh_place:
            waiting.moved(what.heap, what.into, what.share)
        elif isinstance(what, FEEDS):
            waiting.fed(what.day, what.into if isinstance(what, Move) else what.heap)

    def look(self, row: int, until: int) -> None:
        """Whether a heap was ready on one of its evenings."""
        self.waiting.look(row, until, self.heaps, self.members, self.evenings, self.smooth_c)

    def live(self, rows: Rows, day: int, at_once: int) -> None:
        """Some heaps live through some days."""
        some = self.heaps.some(rows)
        before = Evenings.now(some) if at_once > 1 else None
        live(some, Weather.over(self.days[day : day + at_once]), self.place.some(rows), at_once)
        self.heaps.put(rows, some)
        self.evenings.note(day, at_once, rows, before, Evenings.now(some))

    def course(self, noted: Heaps | None) -> Course:
        """What became of all, when all days are over."""
        for row in range(len(self.heaps.core_c)):
            self.look(row, len(self.days))
        waiting, evenings = self.waiting, self.evenings
        called_m3 = np.where(waiting.called_day == NEVER, self.heaps.volume_m3, waiting.called_m3)
        waits = waiting.called_day, called_m3, waiting.ready_day, waiting.fed_day
        return Course(evenings.core_c, evenings.volume_m3, evenings.gone, self.air_c, *waits, noted, self.heaps)


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
