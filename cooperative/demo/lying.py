"""What lies in a bay while the story is told: how far it has sunk, how warm it is, how many bags it will give."""

from dataclasses import dataclass, field
from datetime import date
from math import exp
from random import Random

from heaps.science.blend import PACKING
from heaps.science.climate import air_temp_c
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.forecast import LEAF_SHARE

#: Of the volume of a fresh heap so much is lost in a full cycle: inside the published "a quarter to more than half"
#: (NRAES54-Y, from memory), and so much of the rest stays on the sieve (common practice).
LOST, ON_THE_SIEVE = (0.45, 0.60), 0.15
#: Leaves come down to a fifth to a third (science.forecast, with its sources).
LEAVES_LEFT = (LEAF_SHARE[0] + 0.02, LEAF_SHARE[1] - 0.05)
#: What already lay there has sunk and rotted for some months; the rest of its loss (common practice).
OLD_LEFT = 0.70
#: A fresh layer sinks to half in about a month, most of it at first (gardeners' logs, from memory).
SINKS_TO, SINKS_IN_DAYS = 0.5, 28.0
#: How far above the air a heap gets after it is closed and after each turn, and how fast that falls; invented, in
#: the range of published heaps (COR-PHYS: 40-60 C when well made, a little less after each turn).
PEAKS_C, FALLS_IN_DAYS = (48.0, 38.0, 18.0, 10.0, 5.0), 16.0
FED_C = (10.0, 24.0)  # while it is fed, above the air


@dataclass
class Heap:
    """One bay's content. `layers` are litres of fresh heap with the day they came."""

    is_leaf: bool = False
    layers: list[tuple[date, float]] = field(default_factory=list)
    gives_l: float = 0.0
    stirred: list[date] = field(default_factory=list)
    is_closed: bool = False

    def tip(self, day: date, tipped_l: float, chance: Random, feedstock: str) -> None:
        """A load goes in."""
        fresh_l = tipped_l / PACKING
        left = chance.uniform(*LEAVES_LEFT) * PACKING if self.is_leaf else 1 - chance.uniform(*LOST)
        self.layers.append((day, fresh_l))
        self.gives_l += fresh_l * left * (FEEDSTOCKS[feedstock].group != "mineral")

    def find(self, day: date, litres: float) -> None:
        """What lay there on the first day."""
        self.layers.append((day, litres))
        self.gives_l += litres * OLD_LEFT
        self.stirred = [day]

    def stir(self, day: date) -> None:
        """Closed or turned: it heats anew."""
        self.stirred.append(day)

    def take(self, per_cent: int) -> float:
        """Take a share out. How many litres of compost or leaf mould that gives."""
        given_l = self.gives_l * per_cent / 100
        self.gives_l -= given_l
        self.layers = [(day, litres * (100 - per_cent) / 100) for day, litres in self.layers if per_cent < 100]
        if per_cent == 100:
            self.stirred, self.is_closed = [], False
        return given_l

    def move_into(self, other: "Heap") -> None:
        """All of it goes into another bay."""
        other.layers += self.layers
        other.gives_l += self.gives_l
        other.is_closed = self.is_closed
        other.stirred = max(self.stirred, other.stirred, key=len)
        self.layers, self.gives_l, self.stirred, self.is_closed = [], 0.0, [], False

    def sunk_l(self, day: date) -> float:
        """What it takes up by now."""
        age = [((day - came).days, litres) for came, litres in self.layers]
        return sum(litres * (SINKS_TO + (1 - SINKS_TO) * exp(-days / SINKS_IN_DAYS)) for days, litres in age)

    def temp_c(self, day: date, chance: Random) -> float:
        """The core: above the air by what is left of the last peak, or by what fresh loads keep up."""
        if self.is_leaf:
            above = chance.uniform(0.5, 4)
        elif self.stirred and (self.is_closed or not self._fed_lately(day)):
            peak = PEAKS_C[min(len(self.stirred), len(PEAKS_C)) - 1]
            above = peak * exp(-(day - self.stirred[-1]).days / FALLS_IN_DAYS)
        else:
            above = chance.uniform(*FED_C)
        return air_temp_c(day) + above + chance.uniform(-1.5, 1.5)

    def _fed_lately(self, day: date) -> bool:
        return bool(self.layers) and (day - self.layers[-1][0]).days < 14
