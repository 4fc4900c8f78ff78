"""What a forecast says, ready for a page: ranges, bands by day, reasons as keys, no words."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from heaps.science.blend import PACKING, Mix
from heaps.science.living.readings import Aside


class Doubt(StrEnum):
    """Why a range is as wide as it is."""

    WEIGHT = "loads were not weighed"
    ROTS = "how much of it rots, and how fast"
    SINKS = "how far it packs and sinks"
    BAGGING = "how it is sieved and bagged"
    BAR = "when people call it ready"
    NO_HARVEST = "no harvest here to learn from"
    FEW_HARVESTS = "few harvests here to learn from"
    NO_READING = "no reading counts"
    GUESSED = "part of it lay there before and was guessed"
    SET_ASIDE = "readings were set aside"
    SILENCE = "nobody read it for months"
    BEYOND = "not ready within the time that was looked at"
    SURPRISE = "the readings are far from what was to be expected"
    NEWEST = "the newest reading moved it to where less is known"


class Measure(StrEnum):
    """A reading that could be taken."""

    FILL = "fill mark"
    WARMTH = "temperature"
    LOOK = "look"


class When(StrEnum):
    """When it would be turned."""

    NOW = "now"
    NEXT_MONTH = "next month"
    NEVER = "never"


@dataclass(frozen=True)
class Range:
    """Eight of ten lie between low and high."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Month:
    """A month of a year; days would mean nothing."""

    year: int
    month: int


@dataclass(frozen=True)
class Months:
    """From the first month to the last; `last` is None when it may take longer than was looked at."""

    first: Month
    last: Month | None


@dataclass(frozen=True)
class Band:
    """A range for each day from the first; eight of ten readings lie within."""

    first_day: int
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class WhatIf:
    """What would follow from turning: weeks sooner than left alone (less than 0: later), and bags."""

    when: When
    weeks_sooner: float
    bags: float


@dataclass(frozen=True)
class Worth:
    """How much one reading today would take off the variance of the bags and of the date, as shares."""

    measure: Measure
    of_bags: float
    of_date: float


@dataclass(frozen=True)
class Balance:
    """The matter that is still there, in the middle: C:N, moisture, air, kilograms, litres, what has rotted.

    All of it is of the middle member, whom readings do not move; `read_l` are the litres in the light of readings.
    """

    c_to_n: float
    moisture: float
    free_air_space: float
    carbon_kg: float
    nitrogen_kg: float
    ash_kg: float
    dry_kg: float
    wet_kg: float
    volume_l: float
    gone: float
    read_l: float

    def mix(self, recipe: Mix) -> Mix:
        """What is still there, as a mix that more can be added to; each class has kept its part of the recipe.

        C:N stays that of the recipe, with the nitrogen that is left: the published ranges are of what is put together,
        and that a ratio falls as carbon goes is no lack of browns.
        """
        tipped_l = self.volume_l * PACKING
        share = tipped_l / recipe.tipped_l if recipe.tipped_l else 0.0
        return Mix(
            wet_kg=self.wet_kg,
            dry_kg=self.dry_kg,
            carbon_kg=self.nitrogen_kg * (recipe.c_to_n or 0.0),
            nitrogen_kg=self.nitrogen_kg,
            ash_kg=self.ash_kg,
            tipped_l=tipped_l,
            class_l={key: litres * share for key, litres in recipe.class_l.items()},
        )


@dataclass(frozen=True)
class Forecast:
    """All that is said of one heap on one day. Days from `closed`, when it was last fed, are the wait for ready."""

    today: int
    closed: int
    balance: Balance
    heats: bool
    bags: Range
    days: Range
    ready: Months
    temperature: Band
    fill: Band
    why_wide: tuple[Doubt, ...]
    set_aside: tuple[Aside, ...]
    what_if: Mapping[When, WhatIf]
    worth: tuple[Worth, ...]
