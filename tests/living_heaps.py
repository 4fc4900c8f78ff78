"""Heaps to try the living heap with: mixes by litres of the one table, and what happens to them."""

from collections.abc import Iterable, Mapping
from datetime import date

from heaps.science.blend import Part
from heaps.science.climate import UK_LOWLAND
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.living.breakdown import Weather
from heaps.science.living.events import Deposit, Event, Move, Turn
from heaps.science.living.run import weathers
from heaps.science.living.state import Bay

MAY, NOVEMBER = date(2027, 5, 1), date(2027, 11, 1)
#: Litres as tipped of a good blend: C:N 29, water 69 %, free air 70 %.
GOOD: Mapping[str, float] = {
    "peelings": 250,
    "grass-fresh": 350,
    "hedge-leafy": 300,
    "horse-manure-straw": 300,
    "leaves-mixed": 200,
    "twigs-shredded": 100,
}
#: What a household brings of each cubic metre, and a heap too dry to begin: water 37 %, C:N 33.
HOUSEHOLD: Mapping[str, float] = {"peelings": 400, "grass-fresh": 250, "hedge-leafy": 250, "cardboard": 100}
DRY: Mapping[str, float] = {"straw-barley": 500, "hay": 400, "hedge-leafy": 300, "grass-fresh": 100}
BAY = Bay(1.1, 1.1)


def part(key: str, litres: float) -> Part:
    stuff = FEEDSTOCKS[key]
    assert stuff.density_kg_m3
    return Part(stuff, litres * stuff.density_kg_m3 / 1000, litres)


def tipped(mix: Mapping[str, float], day: int = 0, heap: int = 0, times: float = 1.0) -> list[Event]:
    return [Deposit(day, heap, part(key, litres * times)) for key, litres in mix.items()]


def batch(*turns: int, mix: Mapping[str, float] = GOOD, times: float = 1.0) -> list[Event]:
    return [*tipped(mix, times=times), *(Turn(day, 0) for day in turns)]


def fed(days: Iterable[int], mix: Mapping[str, float] = GOOD, times: float = 0.1, heap: int = 0) -> list[Event]:
    return [event for day in days for event in tipped(mix, day, heap, times)]


def two_bays(into: int = 0, other: int = 1, day: int = 180) -> list[Event]:
    return [*fed(range(0, 90, 7), heap=into), *fed(range(90, day, 7), heap=other), Move(day, other, into)]


def season(begins: date = MAY, days: int = 400) -> list[Weather]:
    return weathers(UK_LOWLAND, begins, days)
