"""Worlds as plain files: what a cooperative would have written down, and apart from it what came of it.

A folder of comma-separated tables, as described in README.md beside this module. What is written in them is all that a
forecast may know.
"""

import csv
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TypeVar

from heaps.science.climate import UK_LOWLAND, Climate, months_from_csv
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.living.learning import LOOKS

Row = TypeVar("Row")


@dataclass(frozen=True)
class Tipped:
    """One load of one material, in litres as tipped; kilograms only where it stood on a scale."""

    day: date
    material: str
    litres: float
    kg: float | None = None


@dataclass(frozen=True)
class Read:
    """One visit with a thermometer, a look at the mark, a word, or a verdict; what was not read is None."""

    day: date
    core_c: float | None = None
    air_c: float | None = None
    fill: float | None = None
    look: str | None = None


@dataclass(frozen=True)
class Kept:
    """One heap as it was recorded."""

    coop: str
    heap: str
    length_m: float
    breadth_m: float
    height_m: float
    covered: bool
    leaf: bool
    bag_l: float
    loads: tuple[Tipped, ...]
    turns: tuple[date, ...] = ()
    waterings: tuple[tuple[date, float], ...] = ()
    readings: tuple[Read, ...] = ()

    @property
    def began(self) -> date:
        """Its first load."""
        return min(load.day for load in self.loads)

    @property
    def closed(self) -> date:
        """Its last load."""
        return max(load.day for load in self.loads)

    @property
    def tipped_l(self) -> float:
        """All litres that were tipped."""
        return sum(load.litres for load in self.loads)


@dataclass(frozen=True)
class Came:
    """What came of a heap: bags, and when somebody first called it ready."""

    bags: float
    ready: date


@dataclass(frozen=True)
class Records:
    """A world on paper; `harvests` are of those of its heaps that were taken out before the others are asked about."""

    heaps: tuple[Kept, ...]
    harvests: Mapping[str, Came] = field(default_factory=dict)
    climate: Climate = UK_LOWLAND


class Unreadable(ValueError):
    """A line that must be mended, in a plain sentence."""


def read(folder: Path) -> Records:
    """The tables of a folder. `Unreadable` says which line of which file to mend."""
    lines = {name: _by_heap(folder / f"{name}.csv") for name in ("loads", "deeds", "readings")}
    heaps = tuple(_told(folder / "heaps.csv", lambda row: _heap(row, lines)))
    if strange := {one for table in lines.values() for one in table} - {one.heap for one in heaps}:
        raise Unreadable(f"heaps.csv lacks these heaps, which other files name: {', '.join(sorted(strange)[:5])}")
    climate = folder / "climate.csv"
    return Records(
        heaps,
        answers(folder / "harvests.csv") if (folder / "harvests.csv").exists() else {},
        _climate(climate) if climate.exists() else UK_LOWLAND,
    )


def _climate(file: Path) -> Climate:
    try:
        return Climate.of_months(months_from_csv(file.read_text(encoding="utf-8")), file.name)
    except ValueError as wrong:
        raise Unreadable(f"{file.name}: {wrong}") from wrong


def answers(file: Path) -> dict[str, Came]:
    """What came of each heap: `heap,bags,ready`."""
    return dict(_told(file, lambda row: (row["heap"], Came(float(row["bags"]), date.fromisoformat(row["ready"])))))


def write(records: Records, folder: Path, came: Mapping[str, Came], answers_file: Path) -> None:
    """The same tables, and the answers of the heaps that are asked about apart from them."""
    folder.mkdir(parents=True, exist_ok=True)
    said = records.heaps
    flat = ("coop", "heap", "length_m", "breadth_m", "height_m", "covered", "leaf", "bag_l")
    _put(folder / "heaps.csv", flat, ([_cell(getattr(one, name)) for name in flat] for one in said))
    _put(
        folder / "loads.csv",
        ("heap", "date", "material", "litres", "kg"),
        ((one.heap, load.day, load.material, load.litres, _cell(load.kg)) for one in said for load in one.loads),
    )
    turns = [(one.heap, day, "turn", "") for one in said for day in one.turns]
    water = [(one.heap, day, "water", litres) for one in said for day, litres in one.waterings]
    _put(folder / "deeds.csv", ("heap", "date", "deed", "litres"), [*turns, *water])
    what = ("core_c", "air_c", "fill", "look")
    readings = ([one.heap, it.day, *(_cell(getattr(it, name)) for name in what)] for one in said for it in one.readings)
    _put(folder / "readings.csv", ("heap", "date", *what), readings)
    for file, which in ((folder / "harvests.csv", records.harvests), (answers_file, came)):
        _put(file, ("heap", "bags", "ready"), ((heap, one.bags, one.ready) for heap, one in which.items()))


def _heap(row: Mapping[str, str], lines: Mapping[str, Mapping[str, list[dict[str, str]]]]) -> Kept:
    heap = row["heap"]
    loads = tuple(_load(one) for one in lines["loads"].get(heap, ()))
    if not loads:
        raise ValueError("loads.csv has no load of it")
    deeds = lines["deeds"].get(heap, ())
    return Kept(
        coop=row["coop"],
        heap=heap,
        length_m=float(row["length_m"]),
        breadth_m=float(row["breadth_m"]),
        height_m=float(row["height_m"]),
        covered=row["covered"] == "yes",
        leaf=row["leaf"] == "yes",
        bag_l=float(row["bag_l"]),
        loads=loads,
        turns=tuple(date.fromisoformat(one["date"]) for one in deeds if one["deed"] == "turn"),
        waterings=tuple(
            (date.fromisoformat(one["date"]), float(one["litres"])) for one in deeds if one["deed"] == "water"
        ),
        readings=tuple(_reading(one) for one in lines["readings"].get(heap, ())),
    )


def _load(row: Mapping[str, str]) -> Tipped:
    if row["material"] not in FEEDSTOCKS:
        raise ValueError(f"there is no material {row['material']!r} in heaps/science/materials.csv")
    return Tipped(date.fromisoformat(row["date"]), row["material"], float(row["litres"]), _number(row["kg"]))


def _reading(row: Mapping[str, str]) -> Read:
    if row["look"] and row["look"] not in LOOKS:
        raise ValueError(f"a look is one of {', '.join(LOOKS)}")
    day = date.fromisoformat(row["date"])
    return Read(day, _number(row["core_c"]), _number(row["air_c"]), _number(row["fill"]), row["look"] or None)


def _number(cell: str) -> float | None:
    return float(cell) if cell.strip() else None


def _by_heap(file: Path) -> dict[str, list[dict[str, str]]]:
    table: dict[str, list[dict[str, str]]] = defaultdict(list)
    for row in _told(file, dict):
        table[row["heap"]].append(row)
    return table


def _told(file: Path, of: Callable[[dict[str, str]], Row]) -> Iterator[Row]:
    with file.open(encoding="utf-8", newline="") as lines:
        for number, row in enumerate(csv.DictReader(lines), start=2):
            try:
                yield of(row)
            except (KeyError, ValueError, TypeError) as wrong:
                raise Unreadable(f"{file.name}, line {number}: {wrong}") from wrong


def _put(file: Path, heading: Iterable[str], rows: Iterable[Iterable[object]]) -> None:
    with file.open("w", encoding="utf-8", newline="") as lines:
        table = csv.writer(lines, lineterminator="\n")
        table.writerow(heading)
        table.writerows(rows)


def _cell(value: object) -> object:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else value
