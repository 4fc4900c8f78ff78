"""Worlds as plain files: what a cooperative would have written down, and apart from it what came of it.

A folder of comma-separated tables, as described in README.md beside this module. What is written in them is all that a
forecast may know.
"""

import csv
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from math import isfinite
from pathlib import Path
from typing import TypeVar

from heaps.science.climate import UK_LOWLAND, Climate, months_from_csv
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.living.learning import LOOKS

Row = TypeVar("Row")
Deed = tuple[date, float | None]  # litres of water; None is a turn


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

    def days_until(self, ready: date) -> int:
        """From the last load on; one at least."""
        return max((ready - self.closed).days, 1)

    @property
    def tipped_l(self) -> float:
        """All litres that were tipped."""
        return sum(load.litres for load in self.loads)


@dataclass(frozen=True)
class Came:
    """What came of a heap: bags, and when somebody first called it ready, if that is known."""

    bags: float
    ready: date | None


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
    loads = _by_heap(folder / "loads.csv", _load)
    deeds = _by_heap(folder / "deeds.csv", _deed)
    readings = _by_heap(folder / "readings.csv", _reading)
    heaps = tuple(_told(folder / "heaps.csv", lambda row: _heap(row, loads, deeds, readings)))
    if twice := [name for name, count in Counter(one.heap for one in heaps).items() if count > 1]:
        raise Unreadable(f"heaps.csv has these heaps twice: {', '.join(sorted(twice)[:5])}")
    past = answers(folder / "harvests.csv") if (folder / "harvests.csv").exists() else {}
    if strange := {*loads, *deeds, *readings, *past} - {one.heap for one in heaps}:
        raise Unreadable(f"heaps.csv lacks these heaps, which other files name: {', '.join(sorted(strange)[:5])}")
    climate = folder / "climate.csv"
    return Records(heaps, past, _climate(climate) if climate.exists() else UK_LOWLAND)


def _climate(file: Path) -> Climate:
    try:
        return Climate.of_months(months_from_csv(file.read_text(encoding="utf-8")), file.name)
    except ValueError as wrong:
        raise Unreadable(f"{file.name}: {wrong}") from wrong


def answers(file: Path) -> dict[str, Came]:
    """What came of each heap: `heap,bags,ready`."""
    return dict(_told(file, lambda row: (row["heap"], Came(_more_than_none(row["bags"]), _day_or_none(row["ready"])))))


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
        _put(file, ("heap", "bags", "ready"), ((heap, one.bags, _cell(one.ready)) for heap, one in which.items()))


def _heap(
    row: Mapping[str, str],
    loads: Mapping[str, Sequence[Tipped]],
    deeds: Mapping[str, Sequence[Deed]],
    readings: Mapping[str, Sequence[Read]],
) -> Kept:
    heap = row["heap"]
    if heap not in loads:
        raise ValueError("loads.csv has no load of it")
    done = deeds.get(heap, ())
    return Kept(
        coop=row["coop"],
        heap=heap,
        length_m=_more_than_none(row["length_m"]),
        breadth_m=_more_than_none(row["breadth_m"]),
        height_m=_more_than_none(row["height_m"]),
        covered=_yes_or_no(row["covered"]),
        leaf=_yes_or_no(row["leaf"]),
        bag_l=_more_than_none(row["bag_l"]),
        loads=tuple(loads[heap]),
        turns=tuple(day for day, litres in done if litres is None),
        waterings=tuple((day, litres) for day, litres in done if litres is not None),
        readings=tuple(readings.get(heap, ())),
    )


def _load(row: Mapping[str, str]) -> Tipped:
    if row["material"] not in FEEDSTOCKS:
        raise ValueError(f"there is no material {row['material']!r} in heaps/science/materials.csv")
    kg = _more_than_none(row["kg"]) if row["kg"] else None
    return Tipped(date.fromisoformat(row["date"]), row["material"], _more_than_none(row["litres"]), kg)


def _deed(row: Mapping[str, str]) -> Deed:
    if row["deed"] not in ("turn", "water"):
        raise ValueError(f"a deed is turn or water, not {row['deed']!r}")
    return date.fromisoformat(row["date"]), _more_than_none(row["litres"]) if row["deed"] == "water" else None


def _reading(row: Mapping[str, str]) -> Read:
    if row["look"] and row["look"] not in LOOKS:
        raise ValueError(f"a look is one of {', '.join(LOOKS)}")
    fill = _more_than_none(row["fill"], or_none=True) if row["fill"] else None
    day, core_c, air_c = date.fromisoformat(row["date"]), _celsius(row["core_c"]), _celsius(row["air_c"])
    return Read(day, core_c, air_c, fill, row["look"] or None)


def _celsius(cell: str) -> float | None:
    """As it was written down, a slip of the pen too: what is believed of it is for the forecast to say."""
    if cell and not isfinite(float(cell)):
        raise ValueError(f"{cell} is no number")
    return float(cell) if cell else None


def _more_than_none(cell: str, or_none: bool = False) -> float:
    number = float(cell)
    if not isfinite(number) or number < 0 or (number == 0 and not or_none):
        raise ValueError(f"{cell} is not more than nothing")
    return number


def _yes_or_no(cell: str) -> bool:
    if cell not in ("yes", "no"):
        raise ValueError(f"say yes or no, not {cell!r}")
    return cell == "yes"


def _day_or_none(cell: str) -> date | None:
    return date.fromisoformat(cell) if cell else None


def _by_heap(file: Path, of: Callable[[dict[str, str]], Row]) -> dict[str, list[Row]]:
    table: dict[str, list[Row]] = defaultdict(list)
    for heap, one in _told(file, lambda row: (row["heap"], of(row))):
        table[heap].append(one)
    return table


def _told(file: Path, of: Callable[[dict[str, str]], Row]) -> Iterator[Row]:
    """Each line as `of` reads it; a spreadsheet may have put a mark before the first, and blanks around cells."""
    with file.open(encoding="utf-8-sig", newline="") as lines:
        table = csv.DictReader(lines)
        table.fieldnames = [name.strip() for name in table.fieldnames or ()]
        for row in table:
            try:
                yield of({name: cell.strip() for name, cell in row.items()})
            except KeyError as lacking:
                raise Unreadable(f"{file.name}: its first line lacks {lacking}") from lacking
            except AttributeError as wrong:
                raise Unreadable(f"{file.name}, line {table.line_num}: not as many cells as the first line") from wrong
            except ValueError as wrong:
                raise Unreadable(f"{file.name}, line {table.line_num}: {wrong}") from wrong


def _put(file: Path, heading: Iterable[str], rows: Iterable[Iterable[object]]) -> None:
    with file.open("w", encoding="utf-8", newline="") as lines:
        table = csv.writer(lines, lineterminator="\n")
        table.writerow(heading)
        table.writerows(rows)


def _cell(value: object) -> object:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else value
