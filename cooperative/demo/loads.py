"""What comes to each site, in which months, and how often. The amounts are made up; the seasons are not."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from random import Random

from cooperative.demo.people import ALLOTMENT, ESTATE, SCHOOL
from heaps.science.feedstocks import wet_g

#: The kind of giver that a material comes from at a site; everything else is brought by whoever records it.
GIVEN_BY = {
    SCHOOL: {"peelings": "cafe", "fruit": "cafe", "root-tops": "grocer", "wood-chip-leafy": "trees"},
    ESTATE: {
        "peelings": "households", "fruit": "households", "tea-leaves": "households", "coffee": "cafe",
        "grass-fresh": "garden", "hedge-leafy": "garden", "spent-grain": "brewery", "office-paper": "other",
        "wood-chip-leafy": "trees",
    },
    ALLOTMENT: {"horse-manure-straw": "stable", "wood-chip-leafy": "trees"},
}  # fmt: skip
SCALE = {SCHOOL: 0.6, ESTATE: 0.15, ALLOTMENT: 0.05}  # how often buckets are weighed; a class likes to
OPEN_DAYS = {SCHOOL: (2, 4, 6), ESTATE: (0, 1, 2, 3, 4, 5, 6), ALLOTMENT: (0, 0, 4)}  # days after Saturday
#: A school's terms, as first and last day in a year: invented, near those of most schools in the zone.
TERMS = (((1, 6), (2, 14)), ((2, 24), (4, 2)), ((4, 20), (5, 23)), ((6, 2), (7, 21)), ((9, 3), (10, 23)),
         ((11, 2), (12, 18)))  # fmt: skip
IN_HOLIDAYS = 0.12


@dataclass(frozen=True)
class Load:
    """So many half containers of one feedstock, brought by somebody."""

    who: str
    feedstock: str
    container: str
    halves: int
    weighed: bool = False
    to_cage: bool = False


@dataclass(frozen=True)
class Habit:
    """How many loads of a feedstock come in a week of its months, and how large one is."""

    feedstock: str
    container: str
    halves: tuple[int, int]
    a_week: float
    months: tuple[int, int] = (1, 12)
    to_cage: bool = False

    def comes_in(self, month: int) -> bool:
        first, last = self.months
        return first <= month <= last if first <= last else not last < month < first


HABITS = {
    SCHOOL: (
        Habit("peelings", "bucket", (3, 8), 2.3),
        Habit("fruit", "bucket", (1, 4), 1.6),
        Habit("coffee", "bucket", (1, 2), 0.6),
        Habit("root-tops", "bucket", (2, 4), 0.3, (6, 11)),
        Habit("grass-fresh", "sack", (2, 4), 0.7, (4, 10)),
        Habit("weeds-soft", "sack", (1, 2), 0.4, (4, 9)),
        Habit("pet-bedding", "bucket", (2, 4), 0.3),
        Habit("office-paper", "sack", (1, 2), 0.6),
        Habit("cardboard", "sack", (2, 4), 1.1),
        Habit("leaves-mixed", "sack", (2, 6), 0.9, (10, 12)),
        Habit("straw-wheat", "sack", (2, 3), 0.4),
        Habit("wood-chip-leafy", "barrow", (1, 2), 0.3),
    ),
    ESTATE: (
        Habit("peelings", "bucket", (1, 4), 3.6),
        Habit("fruit", "bucket", (1, 2), 1.2),
        Habit("tea-leaves", "bucket", (1, 1), 0.4),
        Habit("coffee", "bucket", (1, 3), 1.1),
        Habit("cut-flowers", "bucket", (1, 2), 0.4),
        Habit("eggshells", "bucket", (1, 1), 0.1),
        Habit("grass-fresh", "sack", (1, 3), 0.8, (4, 10)),
        Habit("hedge-leafy", "sack", (2, 4), 0.3, (5, 9)),
        Habit("spent-grain", "bucket", (2, 4), 0.2),
        Habit("cardboard", "sack", (1, 3), 1.4),
        Habit("egg-boxes", "sack", (1, 1), 0.3),
        Habit("office-paper", "sack", (1, 2), 0.4),
        Habit("leaves-mixed", "sack", (1, 3), 0.7, (10, 1)),
        Habit("wood-chip-leafy", "barrow", (1, 1), 0.4),
    ),
    ALLOTMENT: (
        Habit("peelings", "bucket", (3, 8), 1.2),
        Habit("grass-fresh", "sack", (2, 5), 1.0, (4, 10)),
        Habit("weeds-soft", "barrow", (1, 2), 1.1, (3, 10)),
        Habit("prunings-soft", "barrow", (1, 2), 0.7, (5, 10)),
        Habit("comfrey", "bucket", (2, 5), 0.3, (6, 9)),
        Habit("haulms-green", "sack", (2, 4), 0.5, (8, 9)),
        Habit("tomato-plants", "sack", (2, 4), 0.8, (9, 10)),
        Habit("root-tops", "bucket", (2, 5), 0.5, (6, 11)),
        Habit("brassica-leaves", "bucket", (2, 6), 0.6, (11, 3)),
        Habit("horse-manure-straw", "barrow", (2, 5), 0.3),
        Habit("cardboard", "sack", (2, 5), 0.9),
        Habit("straw-wheat", "sack", (1, 3), 0.4),
        Habit("wood-chip-leafy", "barrow", (2, 4), 0.5),
        Habit("leaves-oak", "sack", (4, 8), 1.2, (10, 12), to_cage=True),
        Habit("leaves-quick", "sack", (4, 8), 0.9, (10, 11), to_cage=True),
    ),
}


def loads_of_a_day(site: str, day: date, weekday: int, bringers: list[str], chance: Random) -> Iterator[Load]:
    """What comes on one day, so many days after a Saturday. Each feedstock comes at most once."""
    often = OPEN_DAYS[site].count(weekday) / len(OPEN_DAYS[site]) * (1 if is_busy(site, day) else IN_HOLIDAYS)
    for habit in HABITS[site]:
        if habit.comes_in(day.month) and chance.random() < habit.a_week * often:
            who = bringers[min(int(chance.expovariate(4 / len(bringers))), len(bringers) - 1)]
            weighed = habit.container == "bucket" and chance.random() < SCALE[site]
            halves = chance.randint(*habit.halves)
            yield Load(who, habit.feedstock, habit.container, halves, weighed, habit.to_cage)


def is_busy(site: str, day: date) -> bool:
    """Whether a site is open as usual: always, but for a school's holidays."""
    return site != SCHOOL or any(first <= (day.month, day.day) <= last for first, last in TERMS)


def weight_g(load: Load, container_ml: int, chance: Random) -> int:
    """What the scale shows: near the estimate, to 100 grams."""
    return max(1, round(wet_g(load.feedstock, load.halves * container_ml // 2) * chance.uniform(0.85, 1.2) / 100)) * 100
