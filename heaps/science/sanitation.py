"""What a temperature log shows of the published time-temperature rules, place by place and turn by turn.

It never says that a heap is free of anything.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise

from heaps.science.feedstocks import Feedstock
from heaps.science.heat_rules import HEAT_RULES, HeatRule, Held

#: Probes are read daily; two readings that are further apart than a day and a half say nothing of the time between
#: them (common practice: the rules name no interval).
MOST_APART = timedelta(hours=36)
#: A turn cools a heap. It may be back at its temperature a day later without breaking a stretch (from memory, low); the
#: time between is not counted.
BACK_WITHIN = timedelta(hours=24)


class Outcome(StrEnum):
    """What a log shows of one rule."""

    MET = "met"
    MISSING = "missing"
    NOT_FOR_OPEN_BAY = "does not apply to an open bay"


@dataclass(frozen=True)
class Reading:
    """One reading of a probe."""

    at: datetime
    temp_c: float
    place: str


@dataclass(frozen=True)
class Stretch:
    """Time that a place was held at a temperature: from one hot reading to another, and the turns in between."""

    since: datetime
    until: datetime
    hours: float
    turns: int


@dataclass(frozen=True)
class AtPlace:
    """What the log shows at one place: the best stretch, and what is missing of the rule there."""

    met: bool
    hours: float
    turns: int
    missing_hours: float
    missing_turns: int
    missing_inside_hours: float = 0.0


@dataclass(frozen=True)
class Showing:
    """A rule and what the log shows of it, by place. `c_to_n_fits` is None where the rule asks for none."""

    rule: HeatRule
    outcome: Outcome
    places: Mapping[str, AtPlace]
    c_to_n_fits: bool | None = None


@dataclass(frozen=True)
class Spell:
    """Between two turns, at one place: how often it was read, the highest, the longest time without a reading."""

    since: datetime
    until: datetime
    place: str
    readings: int
    highest_c: float | None
    longest_gap_h: float
    hours_at_55: float


def showings(log: Sequence[Reading], turns: Sequence[datetime], c_to_n: float | None = None) -> list[Showing]:
    """Every rule against a log of one batch, in an open bay. `c_to_n` is that of the mix at the start.

    A rule is met only if it is met at every place that was read. Even then the log speaks for these places and no
    others: see `ONE_PROBE`.
    """
    by_place: dict[str, list[Reading]] = {}
    for reading in log:
        by_place.setdefault(reading.place, []).append(reading)
    return [_showing(rule, by_place, turns, c_to_n) for rule in HEAT_RULES]


def never_whatever_the_log(materials: Iterable[Feedstock]) -> list[Feedstock]:
    """The materials that never go in. No log changes that."""
    return [one for one in materials if one.acceptance == "never"]


def spells(log: Sequence[Reading], turns: Sequence[datetime], until: datetime) -> list[Spell]:
    """What was read at each place between one turn and the next, up to `until`; with the gaps."""
    if not log:
        return []
    ordered = sorted(log, key=lambda one: one.at)
    bounds = [min(ordered[0].at, *turns, until), *sorted(turns), until]
    places = dict.fromkeys(one.place for one in ordered)
    return [
        _spell([one for one in ordered if one.place == place and since <= one.at < end], place, since, end)
        for since, end in pairwise(bounds)
        if since < end
        for place in places
    ]


def stretches(log: Iterable[Reading], turns: Sequence[datetime], held: Held) -> list[Stretch]:
    """The stretches in which one place was held at a temperature.

    Time counts between two hot readings that are close enough and have no turn between them. A cool reading ends a
    stretch, except in the day after a turn; a longer gap ends it, too.
    """
    found: list[Stretch] = []
    now: Stretch | None = None
    for reading in sorted(log, key=lambda one: one.at):
        hot = _is_hot(reading.temp_c, held)
        turned = [turn for turn in turns if now and now.until < turn <= reading.at]
        if now and turned:
            goes_on = turned[0] - now.until <= MOST_APART and reading.at - turned[-1] <= BACK_WITHIN
            if hot and goes_on:
                now = Stretch(now.since, reading.at, now.hours, now.turns + len(turned))
                continue
            if not hot and goes_on:
                continue
        elif now and hot and reading.at - now.until <= MOST_APART:
            now = Stretch(now.since, reading.at, now.hours + _hours(reading.at - now.until), now.turns)
            continue
        if now:
            found.append(now)
        now = Stretch(reading.at, reading.at, 0.0, 0) if hot else None
    return [*found, now] if now else found


def _showing(
    rule: HeatRule, by_place: Mapping[str, Sequence[Reading]], turns: Sequence[datetime], c_to_n: float | None
) -> Showing:
    if not rule.open_bay:
        return Showing(rule, Outcome.NOT_FOR_OPEN_BAY, {})
    places = {place: _at_place(rule, log, turns) for place, log in by_place.items()}
    fits = None
    if rule.c_to_n is not None:
        fits = c_to_n is not None and rule.c_to_n[0] <= c_to_n <= rule.c_to_n[1]
    met = bool(places) and all(one.met for one in places.values()) and fits is not False
    return Showing(rule, Outcome.MET if met else Outcome.MISSING, places, fits)


def _at_place(rule: HeatRule, log: Sequence[Reading], turns: Sequence[datetime]) -> AtPlace:
    """The best that the log has: the stretch that lacks least, or all of them where the rule lets them add up."""
    held = stretches(log, turns, rule.held)
    if rule.held.added_up and held:
        inside = sum(held[0].since < turn <= held[-1].until for turn in turns)
        held = [Stretch(held[0].since, held[-1].until, sum(one.hours for one in held), inside)]
    candidates = [_measured(rule, one, log, turns) for one in held] or [_measured(rule, None, log, turns)]
    return min(candidates, key=lambda one: (not one.met, one.missing_turns, one.missing_hours))


def _measured(rule: HeatRule, one: Stretch | None, log: Sequence[Reading], turns: Sequence[datetime]) -> AtPlace:
    hours, turned = (one.hours, one.turns) if one else (0.0, 0)
    inside = rule.inside.hours if rule.inside else 0.0
    if rule.inside and one:
        within = [reading for reading in log if one.since <= reading.at <= one.until]
        inside -= sum(part.hours for part in stretches(within, turns, rule.inside))
    missing = max(0.0, rule.held.hours - hours), max(0, rule.turns - turned), max(0.0, inside)
    return AtPlace(not any(missing), hours, turned, *missing)


def _is_hot(temp_c: float, held: Held) -> bool:
    if held.most_c is not None and temp_c > held.most_c:
        return False
    return temp_c > held.temp_c if held.strictly else temp_c >= held.temp_c


def _spell(log: Sequence[Reading], place: str, since: datetime, until: datetime) -> Spell:
    moments = [since, *(one.at for one in log), until]
    return Spell(
        since, until, place, len(log),
        max((one.temp_c for one in log), default=None),
        max(_hours(later - earlier) for earlier, later in pairwise(moments)),
        sum(one.hours for one in stretches(log, (), Held(55, 0))),
    )  # fmt: skip


def _hours(time: timedelta) -> float:
    return time.total_seconds() / 3600
