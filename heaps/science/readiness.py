"""Is it ready? The tests that a group can do, which agree, what is missing, and what it may be used for meanwhile.

The verdict stays a person's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import IntEnum, StrEnum

from heaps.science.scales import DEWAR, GERMINATION


class Trial(StrEnum):
    """What a group can do without a laboratory."""

    LOOK = "look"
    SMELL = "smell"
    NO_REHEATING = "no reheating"
    FLASK = "flask"
    GERMINATION = "cress"


class Stage(IntEnum):
    """How far a test shows it to be, from the least to the most."""

    RAW = 0
    YOUNG = 1
    MATURE = 2
    FINISHED = 3


class Use(StrEnum):
    """What it may be used for."""

    NONE = "leave it in the heap"
    MULCH_APART = "mulch under trees and shrubs, off the stems"
    MULCH = "mulch on beds"
    DIG_IN = "dig in"
    POTS = "pots, up to a third, sieved"


#: The look in five words, and how far each is (YPTE, read, for colour and crumb; the steps between are common
#: practice): you can tell each thing; matted and brown; dark with bits in it; dark and crumbly; like soil.
LOOKS: Mapping[str, Stage] = {
    "fresh": Stage.RAW,
    "matted": Stage.YOUNG,
    "bitty": Stage.YOUNG,
    "crumbly": Stage.MATURE,
    "earthy": Stage.FINISHED,
}
#: The smell (YPTE read: woodland smell; EXT-TS read for the others).
SMELLS: Mapping[str, Stage] = {
    "ammonia": Stage.RAW,
    "rotten": Stage.RAW,
    "fresh": Stage.YOUNG,
    "none": Stage.MATURE,
    "woodland": Stage.FINISHED,
}
#: Classes of the vacuum flask (BRINTON95, from memory, high) and of germination (CCQC, PAS100, from memory, medium).
FLASKS: Mapping[str, Stage] = {
    "I": Stage.RAW,
    "II": Stage.YOUNG,
    "III": Stage.YOUNG,
    "IV": Stage.MATURE,
    "V": Stage.FINISHED,
}
GERMINATIONS: Mapping[str, Stage] = {
    "immature": Stage.YOUNG,
    "mature": Stage.MATURE,
    "very mature": Stage.FINISHED,
}
#: Reheating: at most 10 K above the air after it was turned and wetted, as class V of the flask (from memory, high).
#: A heap heats in two to three days (COR-PHYS, read), so it is looked at from the third day to the tenth.
NO_NEW_HEAT_K = 10.0
LOOK_FROM, LOOK_UNTIL = timedelta(days=3), timedelta(days=10)
#: Seeds in each pot, and how many of the control's must come up for the test to count (common practice; cress 7 days,
#: beans 14, from memory, medium).
FEWEST_SEEDS, LEAST_CONTROL = 10, 0.70
#: Rests at least so long after its last heat before it is used in pots (from memory, high).
LEAST_REST = timedelta(weeks=4)


@dataclass(frozen=True)
class Reheating:
    """What the probe showed after a turn: above the air, in kelvin. `wetted` if water was given, or was not needed."""

    turned_at: datetime
    wetted: bool
    above_air: Sequence[tuple[datetime, float]]


@dataclass(frozen=True)
class Readiness:
    """What was shown by each test, what is missing, and the use that all of them allow."""

    shown: Mapping[Trial, Stage]
    missing: tuple[Trial, ...]
    agree: bool
    use: Use
    least: tuple[Trial, ...]


def reheating(what: Reheating) -> Stage | None:
    """The stage that a turn showed; None if it was not wetted, or nobody looked between the third and the tenth day."""
    rises = [rise for at, rise in what.above_air if LOOK_FROM <= at - what.turned_at <= LOOK_UNTIL]
    early = [rise for at, rise in what.above_air if timedelta(0) <= at - what.turned_at < LOOK_FROM]
    if any(rise > NO_NEW_HEAT_K for rise in (*rises, *early)):
        return FLASKS[DEWAR.class_of(max((*rises, *early)))]
    return Stage.FINISHED if rises and what.wetted else None


def germination(up: int, sown: int, control_up: int, control_sown: int) -> Stage | None:
    """The stage by seeds that came up, against the control; None if the test does not count."""
    if min(sown, control_sown) < FEWEST_SEEDS or control_up / control_sown < LEAST_CONTROL:
        return None
    per_cent = 100 * (up / sown) / (control_up / control_sown)
    return GERMINATIONS[GERMINATION.class_of(round(per_cent, 6))]


def flask(rise_k: float) -> Stage:
    """The stage by the highest rise in a vacuum flask, in kelvin."""
    return FLASKS[DEWAR.class_of(rise_k)]


def readiness(shown: Mapping[Trial, Stage | None], rested: timedelta | None = None) -> Readiness:
    """What the tests allow together: no test may be talked down by another, and a missing one holds back.

    `rested` is the time since the last heat, if it is known. Without any test nothing is said of use but to leave it.
    """
    known = {test: stage for test, stage in shown.items() if stage is not None}
    missing = tuple(test for test in Trial if test not in known)
    least = min(known.values(), default=Stage.RAW)
    agree = len(known) > 1 and max(known.values()) - least <= 1
    slowest = tuple(test for test, stage in known.items() if stage == least)
    return Readiness(known, missing, agree, _use(known, least, rested), slowest)


def _use(known: Mapping[Trial, Stage], least: Stage, rested: timedelta | None) -> Use:
    """Mulch before digging in, that before pots (from memory, high). Pots want a test of heat and one of growth."""
    if not known or least == Stage.RAW:
        return Use.NONE
    if least == Stage.YOUNG:
        return Use.MULCH_APART
    heat_shown = Trial.FLASK in known or Trial.NO_REHEATING in known
    if not heat_shown:
        return Use.MULCH
    has_rested = rested is not None and rested >= LEAST_REST
    grows = Trial.GERMINATION in known
    return Use.POTS if grows and has_rested and Trial.SMELL in known else Use.DIG_IN
