"""The soaking tub: how long each kind of weed soaks, what the sun cannot be trusted with, and what never goes in."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

#: Three to six weeks ("a few weeks, until they are decaying": GO-WEED, read; the figures are common practice). What a
#: few weeks do not kill stays in for longer, which is common practice, too.
WEEKS, FLESHY_WEEKS, SEED_WEEKS = (3, 6), (6, 12), (6, 12)
#: From October to March water is cold and rot slow: each day counts half (common practice; "longer when it is cold").
COLD_MONTHS, COLD_PACE = (10, 11, 12, 1, 2, 3), 2


@dataclass(frozen=True)
class Weed:
    """How long one kind soaks, in weeks, and whether drying in the sun can be trusted with it.

    `seeds`: water may leave some alive, so the slop goes into the middle of a hot heap, not onto a bed.
    """

    word: str
    weeks: tuple[int, int]
    source: str
    checked: str
    sun: bool
    seeds: bool = False


_READ, _PRACTICE = "read for the way; weeks are common practice", "common practice"
#: By the word of an entry. Roots that are fleshy, deep or jointed dry on the outside only and grow again.
WEEDS: Mapping[str, Weed] = {
    one.word: one
    for one in (
        Weed("bindweed", FLESHY_WEEKS, "GO-WEED", _READ, sun=False),
        Weed("couch", WEEKS, "GO-WEED", _READ, sun=True),
        Weed("ground elder", WEEKS, "GO-WEED", _READ, sun=True),
        Weed("dock", FLESHY_WEEKS, "GO-WEED", _READ, sun=False, seeds=True),
        Weed("dandelion", FLESHY_WEEKS, "GO-WEED", _READ, sun=False, seeds=True),
        Weed("horsetail", FLESHY_WEEKS, "GO-WEED", _READ, sun=False),
        Weed("nettle roots", WEEKS, "practice", _PRACTICE, sun=True),
        Weed("buttercup", WEEKS, "practice", _PRACTICE, sun=True),
        Weed("thistle", FLESHY_WEEKS, "practice", _PRACTICE, sun=False, seeds=True),
        Weed("seed heads", SEED_WEEKS, "GO-WEED", _READ, sun=False, seeds=True),
        Weed("other", FLESHY_WEEKS, "practice", _PRACTICE, sun=False),
    )
}
#: What never goes into the tub, by key of the table: it stays where it is, or goes to those who have the licence for it
#: (KNOT, read); the rest because water does not kill what ails it (NOBLE04, RYCK02; from memory, high).
NEVER_IN_THE_TUB = (
    "invasive-plants",
    "clubroot",
    "blight",
    "weedkiller-suspect",
    "dog-cat",
    "cooked-food",
    "meat-fish",
)


@dataclass(frozen=True)
class Release:
    """From which day to look, and by which day all should be slop; the kinds that decide it."""

    first: date
    last: date
    by: tuple[str, ...]
    to_hot_heap: bool


def release(words: Iterable[str], soaked_on: date) -> Release | None:
    """When a tub may be opened: the slowest kind in it decides. None for an empty tub.

    It is a day to look, not a promise: it is done when all is soft and brown, and nothing white and firm is left.
    """
    weeds = [WEEDS[word] for word in dict.fromkeys(words)]
    if not weeds:
        return None
    slowest = max(weeds, key=lambda one: one.weeks)
    first, last = (_soaked_for(weeks, soaked_on) for weeks in slowest.weeks)
    by = tuple(one.word for one in weeds if one.weeks == slowest.weeks)
    return Release(first, last, by, to_hot_heap=any(one.seeds for one in weeds))


def _soaked_for(weeks: int, day: date) -> date:
    """The day on which so many warm weeks are over."""
    left = timedelta(weeks=weeks) * COLD_PACE
    while left > timedelta(0):
        left -= timedelta(days=1 if day.month in COLD_MONTHS else COLD_PACE)
        day += timedelta(days=1)
    return day
