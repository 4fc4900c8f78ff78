"""A block of heaps through its days: what happens to it, and what it is like each evening."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from heaps.science.climate import Climate, evaporation_mm
from heaps.science.living.breakdown import Place, Weather, live_a_day
from heaps.science.living.events import FEEDS, Event, Move, happen
from heaps.science.living.parameters import Array, Members
from heaps.science.living.ready import NEVER, Waiting
from heaps.science.living.state import NOTHING_KG, Bay, Heaps, empty, share_gone

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
    noted, heaps = None, empty(bays, members.count, float(np.mean(days[0].air_c)))
    waiting, place = Waiting.of(heaps, members), Place.of(heaps, members)
    shape = (len(days), len(bays), members.count)
    core_c, volume_m3, left_kg, tipped_kg = (np.empty(shape) for _ in range(4))
    air_c = np.empty(len(days))
    for day, weather in enumerate(days):
        for event in by_day.get(day, ()):
            fresh_place = isinstance(event, Move) and heaps.dry_kg[event.into].max() <= NOTHING_KG
            happen(heaps, members, event, weather.air_c)
            if isinstance(event, Move) and fresh_place:
                waiting.moved(event.heap, event.into, event.share)
            elif isinstance(event, FEEDS):
                waiting.fed(day, event.into if isinstance(event, Move) else event.heap)
        if day == note_on:
            noted = deepcopy(heaps)
        evening = live_a_day(heaps, members, weather, place)
        air_c[day] = np.mean(weather.air_c)
        core_c[day], volume_m3[day] = heaps.core_c, evening.volume_m3
        left_kg[day], tipped_kg[day] = evening.degradable_kg, heaps.degradable_in_kg
        smooth_c = float(air_c[max(0, day - SMOOTH_DAYS + 1) : day + 1].mean())
        waiting.look(day, heaps, evening, members, smooth_c)
    called_m3 = np.where(waiting.called_day == NEVER, heaps.volume_m3, waiting.called_m3)
    waits = waiting.called_day, called_m3, waiting.ready_day, waiting.fed_day
    return Course(core_c, volume_m3, share_gone(left_kg, tipped_kg), air_c, *waits, noted, heaps)
