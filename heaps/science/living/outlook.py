"""What the equations and its readings say of one heap, and what that becomes by what harvests have taught."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from heaps.science.climate import Climate
from heaps.science.living import learning
from heaps.science.living.events import FEEDS, Event, Move
from heaps.science.living.learning import (
    BAGS_BEFORE,
    DAYS_BEFORE,
    Conditioned,
    Learnt,
    Student,
    condition,
    foretell,
    regressors,
)
from heaps.science.living.parameters import Array, Members
from heaps.science.living.readings import Aside, Fill, Seen, Warmth, believe, boil_down, without_newest
from heaps.science.living.ready import NEVER, bags
from heaps.science.living.run import Course, run, weathers
from heaps.science.living.state import Bay

#: The rule of thumb: a quarter of the litres tipped, in 150 days; leaves 18 months (common practice).
RULE_SHARE, RULE_DAYS, RULE_LEAF_DAYS = 0.25, 150.0, 548.0
#: So far ahead a forecast looks; leaves are given twice as long.
AHEAD_DAYS, LEAF_AHEAD_DAYS = 400, 800
#: The places of the two outputs.
BAGS, DAYS = 0, 1
#: Fewer members than this tell no range (a guess).
FEWEST_MEMBERS = 10
#: A range that is wider by less than this moves no whole bag and no month (common practice).
SHOWS = 1.01


@dataclass(frozen=True)
class Ground:
    """The bays of one site, all that happened in them, and the day it is: days count from `begins`."""

    bays: Sequence[Bay]
    bay_m3: Sequence[float]
    events: Sequence[Event]
    begins: date
    today: int


@dataclass(frozen=True)
class Record:
    """What is known of one heap beside what was tipped."""

    tipped_l: float
    warmths: Sequence[Warmth] = ()
    fills: Sequence[Fill] = ()
    not_ready: int | None = None  # the last day on which somebody looked and said "not yet"
    look: str | None = None  # a word of learning.LOOKS
    bag_l: float = 45.0


@dataclass(frozen=True)
class Said:
    """All that a harvest is learned from, of one output, as logarithms: the rule of thumb, the equations without any
    reading and in the light of them; and the doubt that the readings left."""

    rule: float
    bare: float
    read: float
    doubt: float


@dataclass(frozen=True)
class Outlook:
    """One heap of a run: outputs of the members (ln bags, ln days from the last load), what they are in the light of
    its readings, and of all but those of the last day; which were set aside; for what share of members a breathing test
    calls it ready in the time that is looked at; and the same two numbers by the rule of thumb."""

    closed: int
    outputs: Array
    conditioned: Conditioned
    but_the_newest: Conditioned
    seen: Seen | None
    aside: tuple[Aside, ...]
    ready_share: float
    rules: tuple[float, float]

    @property
    def said(self) -> tuple[Said, Said]:
        """What is said of both outputs."""
        of = self.conditioned
        bags, days = zip(self.rules, of.mean_before.tolist(), of.mean.tolist(), of.doubt.tolist(), strict=True)
        return Said(*bags), Said(*days)


@dataclass(frozen=True)
class Learning:
    """What this cooperative's harvests taught; `harvests` is how many."""

    bags: Learnt = field(default_factory=lambda: BAGS_BEFORE)
    days: Learnt = field(default_factory=lambda: DAYS_BEFORE)
    with_look: Learnt = field(default_factory=lambda: learning.DAYS_WITH_LOOK_BEFORE)
    harvests: int = 0

    def after(self, heap: Outlook, filled: float, days: float | None, look: str | None = None) -> "Learning":
        """With one harvest more."""
        return self.taught(heap.said, filled, days, look)

    def taught(self, said: tuple[Said, Said], filled: float, days: float | None, look: str | None = None) -> "Learning":
        """With one harvest more of which something was said: its bags, the days from the last load to the first
        "ready" if somebody said so, and the word of a look. The order of harvests does not matter."""
        learnt = replace(self, bags=_learn(self.bags, said[BAGS], filled), harvests=self.harvests + 1)
        if days is None:
            return learnt
        return replace(
            learnt,
            days=_learn(self.days, said[DAYS], days),
            with_look=_learn(self.with_look, said[DAYS], days, look or learning.USUAL),
        )


def outlooks(ground: Ground, records: Mapping[int, Record], members: Members, climate: Climate) -> dict[int, Outlook]:
    """Each recorded heap as it will be if nothing happens but what `ground` says, in one run."""
    days = weathers(climate, ground.begins, ground.today + days_looked_ahead(ground, records))
    course = run(ground.bays, ground.events, members, days)
    return {row: look_out(ground, row, record, members, course) for row, record in records.items()}


def days_looked_ahead(ground: Ground, rows: Iterable[int]) -> int:
    """Longer if one of them is a leaf bin."""
    return LEAF_AHEAD_DAYS if any(ground.bays[row].leaf for row in rows) else AHEAD_DAYS


def look_out(ground: Ground, row: int, record: Record, members: Members, course: Course) -> Outlook:
    """One heap of a run in the light of its readings."""
    believed = believe(record.warmths, record.fills, first_day(ground.events, row), ground.today)
    closed = int(course.fed_day[row, 0])
    until_now, volume_m3 = course.core_c[: ground.today + 1, row], course.volume_m3[:, row]
    seen, but_the_newest = (
        boil_down(some, until_now, course.air_c, volume_m3, ground.bay_m3[row], closed)
        for some in (believed, without_newest(believed))
    )
    days = waits(course.called_day, course, row)
    filled = np.maximum(bags(course.called_m3[row], members, record.bag_l), 1e-3)
    outputs = np.log(np.array([filled, days]))
    rules, still = _rules(record, ground.bays[row].leaf), _still_possible(days, closed, record)
    return Outlook(
        closed,
        outputs,
        condition(outputs, seen, still),
        condition(outputs, but_the_newest, still),
        seen,
        believed.aside,
        float((course.ready_day[row] != NEVER).mean()),
        rules,
    )


def _still_possible(days: Array, closed: int, record: Record) -> NDArray[np.bool_] | None:
    """The members that nobody would have called ready by the last "not yet"; all, if hardly any is left."""
    if record.not_ready is None:
        return None
    still: NDArray[np.bool_] = closed + days > record.not_ready
    return still if still.sum() >= FEWEST_MEMBERS else None


def first_day(events: Iterable[Event], row: int) -> int:
    """When something came into a bay first."""
    return min(
        (
            one.day
            for one in events
            if isinstance(one, FEEDS) and row == (one.into if isinstance(one, Move) else one.heap)
        ),
        default=0,
    )


def waits(first_day: Array, course: Course, row: int) -> Array:
    """Days from the last load until a first day of each member; who has none yet is taken to need a tenth longer."""
    first, closed = first_day[row], course.fed_day[row, 0]
    end = (len(course.core_c) - closed) * 1.1
    days: Array = np.maximum(np.where(first == NEVER, end, first - closed), 1.0)
    return days


def bags_ahead(heap: Outlook, learnt: Learning) -> tuple[Student, bool]:
    """What is foretold, and whether the readings made it less sure: far from what is usual trust is thin."""
    said = heap.said[BAGS]
    now, before = (
        foretell(learnt.bags, regressors(one.rule, one.bare, one.read), one.rule, one.doubt)
        for one in (said, replace(said, read=said.bare, doubt=1.0))
    )
    return now, now.scale > before.scale


def days_ahead(heap: Outlook, learnt: Learning, record: Record) -> Student:
    """Days from the last load until somebody calls it ready, later than the last "not yet"."""
    said = heap.said[DAYS]
    row = regressors(said.rule, said.bare, said.read, record.look)
    before = learnt.days if record.look is None else learnt.with_look
    above = -np.inf if record.not_ready is None else float(np.log(max(record.not_ready - heap.closed, 1)))
    return foretell(before, row, said.rule, said.doubt, above)


def newest_widens(heap: Outlook, learnt: Learning, record: Record) -> bool:
    """Whether either range is wider than it was without the readings of the last day, by so much that it shows."""
    before = replace(heap, conditioned=heap.but_the_newest)
    pairs = (
        (bags_ahead(heap, learnt)[0], bags_ahead(before, learnt)[0]),
        (days_ahead(heap, learnt, record), days_ahead(before, learnt, record)),
    )
    return any(now.scale > SHOWS * was.scale for now, was in pairs)


def _learn(before: Learnt, said: Said, observed: float, look: str | None = None) -> Learnt:
    row = regressors(said.rule, said.bare, said.read, look)
    doubt = said.doubt * (learning.NO_LOOK_DOUBT if look == learning.USUAL else 1.0)
    return learning.learn(before, row, float(np.log(observed)) - said.rule, doubt)


def _rules(record: Record, leaf: bool) -> tuple[float, float]:
    filled = max(record.tipped_l * RULE_SHARE / record.bag_l, 1e-3)
    return float(np.log(filled)), float(np.log(RULE_LEAF_DAYS if leaf else RULE_DAYS))
