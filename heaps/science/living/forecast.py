"""What becomes of the heaps of one site: run once, read in the light of what was seen, said as ranges."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from heaps.science.climate import Climate
from heaps.science.living.events import Event, Move, Opening, Turn
from heaps.science.living.foresight import Balance, Doubt, Forecast, Measure, WhatIf, When
from heaps.science.living.learning import Student
from heaps.science.living.outlook import (
    Ground,
    Learning,
    Outlook,
    Record,
    bags_ahead,
    days_ahead,
    days_looked_ahead,
    first_day,
    look_out,
    newest_widens,
    waits,
)
from heaps.science.living.parameters import Array, Members
from heaps.science.living.ranges import MODEL_K, band, eight_of_ten, fill_band, months
from heaps.science.living.readings import Why
from heaps.science.living.run import Course, run, weathers
from heaps.science.living.state import NOTHING_KG
from heaps.science.living.worth import worth

NEXT_MONTH_DAYS = 30
#: Warmer than the air by so much at its warmest, or it is said not to heat (common practice).
HEATS_K = 10.0
FEW_HARVESTS = 5
_WHY: Mapping[Doubt, tuple[str, ...]] = {
    Doubt.WEIGHT: ("weight",),
    Doubt.ROTS: ("share_shift", "fast_per_day", "slow_per_day", "shell_factor", "air", "shell_m", "conductivity_w_mk"),
    Doubt.SINKS: ("final_m3_kg", "packing", "settling_per_day", "settling_by_loss"),
    Doubt.BAGGING: ("sieve_loss", "swell", "bag_fill"),
    Doubt.BAR: ("gone_shift",),
}
#: A share of the variance below this is not worth a word.
WORTH_SAYING = 0.10


def foresee(
    ground: Ground, records: Mapping[int, Record], members: Members, climate: Climate, learnt: Learning
) -> dict[int, Forecast]:
    """A forecast for each recorded heap that is not empty, left alone and turned now or next month, in one run."""
    course = run(
        [*ground.bays] * len(When),
        _scenarios(ground, records),
        members,
        weathers(climate, ground.begins, ground.today + days_looked_ahead(ground, records)),
        note_on=ground.today,
    )
    return {
        row: _say(ground, row, record, members, learnt, course)
        for row, record in records.items()
        if course.volume_m3[ground.today, row].max() > NOTHING_KG
    }


def _scenarios(ground: Ground, rows: Iterable[int]) -> list[Event]:
    """The same bays three times: left alone, turned now, turned next month."""
    count = len(ground.bays)
    events = [_shifted(event, place * count) for place in range(len(When)) for event in ground.events]
    events += [Turn(ground.today, count + row) for row in rows]
    return events + [Turn(ground.today + NEXT_MONTH_DAYS, 2 * count + row) for row in rows]


def _shifted(event: Event, by: int) -> Event:
    if isinstance(event, Move):
        return replace(event, heap=event.heap + by, into=event.into + by)
    return replace(event, heap=event.heap + by)


def _say(
    ground: Ground, row: int, record: Record, members: Members, learnt: Learning, course: Course
) -> Forecast:  # fmt: skip
    begins = first_day(ground.events, row)
    heap = look_out(ground, row, record, members, course)
    bags_t, wider = bags_ahead(heap, learnt)
    days_t = days_ahead(heap, learnt, record)
    seen = heap.seen
    why = _why_wide(heap, members, learnt, {one.why for one in heap.aside}, wider)
    if any(isinstance(event, Opening) and event.heap == row for event in ground.events):
        why = (Doubt.GUESSED, *why)
    if newest_widens(heap, learnt, record):
        why = (*why, Doubt.NEWEST)
    fill = fill_band(course.volume_m3[:, row] / ground.bay_m3[row], seen, begins)
    read_m3 = fill.middle[ground.today - begins] * ground.bay_m3[row]
    return Forecast(
        today=ground.today,
        closed=heap.closed,
        balance=_balance(course, row, read_m3),
        heats=bool(np.median((course.core_c[begins:, row] - course.air_c[begins:, None]).max(axis=0)) >= HEATS_K),
        bags=eight_of_ten(bags_t),
        days=eight_of_ten(days_t),
        ready=months(ground.begins, heap.closed, ground.today, days_t, heap.ready_share),
        temperature=band(course.core_c[:, row], seen, MODEL_K, begins),
        fill=fill,
        why_wide=why,
        set_aside=heap.aside,
        what_if=_what_if(course, row, len(ground.bays), ground.today, days_t, bags_t),
        worth=worth(heap.outputs, _shows(course, row, ground.today), (seen.members, seen.error) if seen else None),
    )


def _balance(course: Course, row: int, read_m3: float) -> Balance:
    """Of the middle member, so that on the day it is tipped it is that of the blend."""
    lies = course.noted
    assert lies is not None  # noqa: S101 - asked for when it was run
    dry_kg = float(lies.dry_kg[row, 0])
    return Balance(
        c_to_n=float(lies.c_to_n[row, 0]),
        moisture=float(lies.moisture[row, 0]),
        free_air_space=float(lies.free_air_space[row, 0]),
        carbon_kg=float(lies.carbon_kg[row, 0]),
        nitrogen_kg=float(lies.nitrogen_kg[row, 0]),
        ash_kg=float(lies.ash_kg[row, 0]),
        dry_kg=dry_kg,
        wet_kg=dry_kg + float(lies.water_kg[row, 0]),
        volume_l=float(lies.volume_m3[row, 0]) * 1000,
        gone=float(lies.gone[row, 0]),
        read_l=read_m3 * 1000,
    )


def _what_if(course: Course, row: int, count: int, today: int, days: Student, filled: Student) -> dict[When, WhatIf]:
    """The members' own difference: no learning is needed for what changes. In weeks against being left alone, by the
    breathing test: a turn also helps what looks like compost already."""
    alone_days = waits(course.ready_day, course, row)
    alone_m3 = course.called_m3[row]
    found = {When.NEVER: WhatIf(When.NEVER, 0.0, float(np.exp(filled.centre)))}
    for place, when in ((1, When.NOW), (2, When.NEXT_MONTH)):
        turned_days = waits(course.ready_day, course, place * count + row)
        pace = float(np.median(turned_days / alone_days))
        less = float(np.median(course.called_m3[place * count + row] / np.maximum(alone_m3, 1e-9)))
        sooner = (1 - pace) * float(np.exp(days.centre)) / 7
        found[when] = WhatIf(when, sooner, float(np.exp(filled.centre)) * less)
    return found


def _shows(course: Course, row: int, today: int) -> dict[Measure, Array]:
    return {
        Measure.FILL: np.log(np.maximum(course.volume_m3[today, row], 1e-6)),
        Measure.WARMTH: course.core_c[today, row] - course.air_c[today],
        Measure.LOOK: np.log(np.maximum(1 - course.gone[today, row], 1e-3)),
    }


def _why_wide(heap: Outlook, members: Members, learnt: Learning, aside: set[Why], wider: bool) -> tuple[Doubt, ...]:
    """The greatest first, by their shares of the variance of either output; then what is missing."""
    shares = {
        doubt: max(
            sum(float(np.corrcoef(getattr(members, name), output)[0, 1]) ** 2 for name in names)
            for output in heap.outputs
            if output.std() > 0
        )
        for doubt, names in _WHY.items()
    }
    why = [doubt for doubt, share in sorted(shares.items(), key=lambda one: -one[1]) if share >= WORTH_SAYING]
    if learnt.harvests < FEW_HARVESTS:
        why.insert(0, Doubt.FEW_HARVESTS if learnt.harvests else Doubt.NO_HARVEST)
    if heap.seen is None:
        why.append(Doubt.NO_READING)
    if Why.SILENCE in aside:
        why.append(Doubt.SILENCE)
    if aside - {Why.SILENCE}:
        why.append(Doubt.SET_ASIDE)
    if heap.ready_share < 0.9:
        why.append(Doubt.BEYOND)
    if wider:
        why.append(Doubt.SURPRISE)
    return tuple(why)
