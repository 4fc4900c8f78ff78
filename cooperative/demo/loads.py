"""What comes on one day of the year. The amounts are made up; what comes in which month is not."""

from dataclasses import dataclass
from datetime import date
from random import Random

from heaps.science.feedstocks import wet_g

BRINGERS = ("bryony", "sorrel", "yarrow", "yarrow", "teasel", "teasel", "moss")


#: The kind of giver that a material comes from here; everything else is brought by whoever records it.
GIVEN_BY = {"coffee": "cafe", "horse-manure-straw": "stable", "wood-chip-leafy": "trees", "leaves-mixed": "households"}


@dataclass(frozen=True)
class Load:
    """So many half containers of one feedstock, brought by somebody."""

    who: str
    feedstock: str
    container: str
    halves: int
    weighed: bool = False
    to_leaf_bin: bool = False


@dataclass(frozen=True)
class Habit:
    """How likely a feedstock comes on a Saturday of its months, and how much of it."""

    feedstock: str
    container: str
    halves: tuple[int, int]
    likely: float
    months: tuple[int, int] = (1, 12)
    to_leaf_bin: bool = False

    def comes_in(self, month: int) -> bool:
        first, last = self.months
        return first <= month <= last if first <= last else not last < month < first


HABITS = (
    Habit("peelings", "bucket", (5, 10), 0.95),
    Habit("coffee", "bucket", (2, 5), 0.7),
    Habit("cut-flowers", "bucket", (1, 2), 0.2),
    Habit("grass-fresh", "sack", (1, 4), 0.75, (4, 10)),
    Habit("weeds-soft", "tub", (1, 3), 0.6, (4, 9)),
    Habit("prunings-soft", "tub", (2, 4), 0.4, (5, 10)),
    Habit("comfrey", "tub", (1, 2), 0.3, (6, 9)),
    Habit("tomato-plants", "sack", (2, 4), 0.5, (9, 10)),
    Habit("root-tops", "bucket", (1, 3), 0.3, (6, 11)),
    Habit("brassica-leaves", "tub", (1, 3), 0.4, (11, 3)),
    Habit("horse-manure-straw", "barrow", (1, 2), 0.2),
    Habit("cardboard", "sack", (1, 5), 0.75),
    Habit("straw-wheat", "sack", (1, 3), 0.25),
    Habit("wood-chip-leafy", "barrow", (1, 2), 0.5),
    Habit("office-paper", "sack", (1, 2), 0.25),
    Habit("leaves-mixed", "sack", (1, 4), 0.7, (10, 1)),
    Habit("leaves-oak", "sack", (4, 9), 0.9, (10, 12), to_leaf_bin=True),
)


def loads_of_a_day(day: date, chance: Random, many: bool) -> list[Load]:
    """The loads of a Saturday's session, or the few of another day. Each feedstock comes at most once."""
    found = []
    for habit in HABITS:
        likely = habit.likely if many else habit.likely / 6
        if habit.comes_in(day.month) and chance.random() < likely:
            who, halves = chance.choice(BRINGERS), chance.randint(*habit.halves)
            weighed = habit.container in ("bucket", "tub") and chance.random() < 0.2
            found.append(Load(who, habit.feedstock, habit.container, halves, weighed, habit.to_leaf_bin))
    return found


def weight_g(load: Load, container_ml: int, chance: Random) -> int:
    """What the scale shows: near the estimate, to 100 grams."""
    return max(1, round(wet_g(load.feedstock, load.halves * container_ml // 2) * chance.uniform(0.85, 1.2) / 100)) * 100
