"""What is foretold of recorded heaps: by the living heap, and beside it by a rule of thumb that learns."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from math import log

import numpy as np

from cooperative.twin.records import Came, Kept, Records
from heaps.science.blend import Part
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.living.events import Deposit, Event, Turn, Watering
from heaps.science.living.learning import Learnt, Student, foretell, learn
from heaps.science.living.outlook import (
    AHEAD_DAYS,
    BAGS,
    DAYS,
    LEAF_AHEAD_DAYS,
    Ground,
    Learning,
    Outlook,
    Record,
    bags_ahead,
    days_ahead,
    look_out,
)
from heaps.science.living.parameters import Members
from heaps.science.living.readings import Fill, Warmth
from heaps.science.living.ready import NEVER
from heaps.science.living.run import Course, run, weathers
from heaps.science.living.state import Bay

BLOCK = 20
#: Days after the last load on which a forecast is made, beside the day itself; a look comes after so many.
LATER_DAYS, LOOKED_DAYS = 45, 60
#: The rule of thumb learns, too: its own shift, and how far heaps scatter about it (set on worlds.TUNED).
RULE_BAGS = Learnt(np.array([0.0]), np.array([[(0.30 / 0.33) ** 2]]), 6.0, 0.33**2)
RULE_DAYS = Learnt(np.array([-0.2]), np.array([[(0.90 / 0.75) ** 2]]), 6.0, 0.75**2)
ONE = np.ones(1)


class Way(StrEnum):
    """How it was foretold."""

    RULE = "rule of thumb that learns"
    BARE = "living heap without readings"
    READ = "living heap with its readings"
    LATER = "the same 45 days after closing"
    UNLOOKED = "60 days after closing without look"
    LOOKED = "60 days after closing with a look"


@dataclass(frozen=True)
class Foretold:
    """Logarithms of bags and of days from the last load."""

    bags: Student
    days: Student


@dataclass(frozen=True)
class Seen:
    """One heap: what was recorded, and what the living heap says of it at each moment, with and without readings."""

    kept: Kept
    outlooks: Mapping[Way, Outlook]
    look: str | None


def see(records: Records, members: Members) -> dict[str, Seen]:
    """All heaps, in blocks of those that began at about the same time of the year: one run a block."""
    found = {}
    for block in _blocks(records.heaps):
        base = date(2031, 1, 1) + timedelta(days=min(_of_year(one) for one in block))
        starts = [date(2031, 1, 1) + timedelta(days=_of_year(one)) for one in block]
        shifts = [(start - base).days - one.began.toordinal() for start, one in zip(starts, block, strict=True)]
        events = [
            event
            for row, (one, shift) in enumerate(zip(block, shifts, strict=True))
            for event in _events(one, row, shift)
        ]
        bays = [Bay(one.length_m, one.breadth_m, one.covered, one.leaf) for one in block]
        end = max(
            one.closed.toordinal() + shift + LOOKED_DAYS + _ahead(one) for one, shift in zip(block, shifts, strict=True)
        )
        course = run(bays, events, members, weathers(records.climate, base, end))
        for row, (one, shift) in enumerate(zip(block, shifts, strict=True)):
            ground = Ground(bays, [b.length_m * b.breadth_m * b.height_m for b in block], events, base, 0)
            found[one.heap] = _see(one, row, shift, ground, members, course)
    return found


def _see(kept: Kept, row: int, shift: int, ground: Ground, members: Members, course: Course) -> Seen:
    closed = kept.closed.toordinal() + shift
    looks = [one.look for one in kept.readings if one.look and 0 <= (one.day - kept.closed).days <= LOOKED_DAYS + 14]
    outlooks = {}
    for way, after, reads in (
        (Way.BARE, 0, False),
        (Way.READ, 0, True),
        (Way.LATER, LATER_DAYS, True),
        (Way.LOOKED, LOOKED_DAYS, True),
    ):
        today = closed + after
        record = _record(kept, shift, today) if reads else Record(kept.tipped_l, bag_l=kept.bag_l)
        if way is Way.LOOKED and looks:  # looked at only while nobody has called it ready
            record = replace(record, not_ready=today)
        now = replace(ground, today=today)
        outlooks[way] = look_out(now, row, record, members, until(course, today + _ahead(kept)))
    return Seen(kept, outlooks, looks[-1] if looks else None)


def until(course: Course, days: int) -> Course:
    """A run as if it had ended earlier."""
    called_late = course.called_day >= days
    never_called = called_late | (course.called_day == NEVER)
    return replace(
        course,
        core_c=course.core_c[:days],
        volume_m3=course.volume_m3[:days],
        gone=course.gone[:days],
        air_c=course.air_c[:days],
        called_day=np.where(called_late, NEVER, course.called_day),
        called_m3=np.where(never_called, course.volume_m3[:days][-1], course.called_m3),
        ready_day=np.where(course.ready_day >= days, NEVER, course.ready_day),
    )


def taught(seen: Sequence[tuple[Seen, Came]], way: Way) -> "Taught":
    """What harvests teach a cooperative that foretells in one way."""
    living, rule_bags, rule_days = Learning(), RULE_BAGS, RULE_DAYS
    for one, came in seen:
        outlook = one.outlooks[_moment(way)]
        days = one.kept.days_until(came.ready) if came.ready else None
        living = living.after(outlook, came.bags, days, one.look)
        rule_bags = learn(rule_bags, ONE, log(came.bags) - outlook.rules[BAGS], 1.0)
        if days:
            rule_days = learn(rule_days, ONE, log(days) - outlook.rules[DAYS], 1.0)
    return Taught(way, living, rule_bags, rule_days)


@dataclass(frozen=True)
class Taught:
    """Ready to foretell."""

    way: Way
    living: Learning
    rule_bags: Learnt
    rule_days: Learnt

    def foretell(self, one: Seen) -> Foretold:
        """Of one heap."""
        outlook = one.outlooks[_moment(self.way)]
        if self.way is Way.RULE:
            bags, days = outlook.rules
            return Foretold(foretell(self.rule_bags, ONE, bags, 1.0), foretell(self.rule_days, ONE, days, 1.0))
        record = Record(one.kept.tipped_l, look=one.look if self.way is Way.LOOKED else None)
        if self.way in (Way.LOOKED, Way.UNLOOKED):  # asked only of heaps that are not ready by then
            record = replace(record, not_ready=outlook.closed + LOOKED_DAYS)
        return Foretold(bags_ahead(outlook, self.living)[0], days_ahead(outlook, self.living, record))


def _moment(way: Way) -> Way:
    return {Way.RULE: Way.READ, Way.UNLOOKED: Way.LOOKED}.get(way, way)


def _blocks(heaps: Sequence[Kept]) -> Iterator[list[Kept]]:
    ordered = sorted(heaps, key=lambda one: (one.leaf, _of_year(one), one.heap))
    for start in range(0, len(ordered), BLOCK):
        yield ordered[start : start + BLOCK]


def _of_year(one: Kept) -> int:
    return one.began.timetuple().tm_yday - 1


def _ahead(one: Kept) -> int:
    return LEAF_AHEAD_DAYS if one.leaf else AHEAD_DAYS


def _events(kept: Kept, row: int, shift: int) -> Iterator[Event]:
    for load in kept.loads:
        stuff = FEEDSTOCKS[load.material]
        kg = load.kg if load.kg is not None else load.litres * (stuff.density_kg_m3 or 0.0) / 1000
        part = Part(stuff, kg, load.litres)
        yield Deposit(load.day.toordinal() + shift, row, part, weighed=load.kg is not None)
    for turned in kept.turns:
        yield Turn(turned.toordinal() + shift, row)
    for day, litres in kept.waterings:
        yield Watering(day.toordinal() + shift, row, litres)


def _record(kept: Kept, shift: int, today: int) -> Record:
    """Only what was written down by that day."""
    read = [(one.day.toordinal() + shift, one) for one in kept.readings]
    known = [(day, one) for day, one in read if day <= today]
    return Record(
        kept.tipped_l,
        warmths=[Warmth(day, one.core_c, one.air_c) for day, one in known if one.core_c is not None],
        fills=[Fill(day, one.fill) for day, one in known if one.fill is not None],
        bag_l=kept.bag_l,
    )
