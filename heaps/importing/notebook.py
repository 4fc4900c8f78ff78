"""An old notebook as a plain CSV file. The first line names the columns, in any order:

  what           drop-off, reading or harvest
  date           2024-05-31 or 31/5/2024 (the day comes first)
  time           14:30; a line without a time is put at noon
  site           its name; may be left out if there is one site, or with --site
  bay            its name
  person         the sign-in name of who recorded it; left out: whoever brings the notebook in
  words          free words
of a drop-off:
  material       its key, short or full name, as in the list of what goes in
  container      its name here, with
  count          how many, halves allowed: 1.5 or 1½; left out: 1
  litres         instead of container and count
  kg             if it was weighed; alone, the litres are estimated from the usual density
of a reading, at least one of temperature, squeeze and fill:
  temperature_c  at
  place          core, edge, top or base, and
  depth_cm
  squeeze        dust, crumbles, holds, drops or runs
  fill_percent   how full the bay was
of a harvest:
  bags           how many, halves allowed
  bag_litres     what one bag held; left out: the cooperative's usual bag
  share_percent  the share of the heap that was taken; 100 ends the heap
  sieved         yes or no; left out: no

Cells are parted by commas, semicolons or tabs. Numbers have a decimal point or a decimal comma, and may carry a
unit: 20 gal (imperial; write 20 us gal for the other), 60 F, 12 lb, 8 in. Times are the site's own. A time that
the clocks pass twice in autumn is the first of the two; one that they skip in spring is moved on by the hour.

A file may be brought in again: lines that went in before are left alone. A line that was changed since then goes
in as a new one.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from heaps.importing import cells
from heaps.importing.cells import Measure
from heaps.importing.ground import Ground, plainly
from heaps.importing.intake import Bad, Found
from heaps.importing.reasons import BadCell, Unreadable
from heaps.importing.tables import Line, Table
from heaps.ledger import choices, kinds
from heaps.models import Site
from heaps.science.materials import Materials
from heaps.wire import OLDEST, Refusal, read_feedstock, read_words
from members.models import Member

Value = TypeVar("Value")
EVERY = ("what", "date", "time", "site", "bay", "person", "words")
OWN = {
    "dropoff": ("material", "container", "count", "litres", "kg"),
    "reading": ("temperature_c", "place", "depth_cm", "squeeze", "fill_percent"),
    "harvest": ("bags", "bag_litres", "share_percent", "sieved"),
}
COLUMNS = (*EVERY, *(column for own in OWN.values() for column in own))
NEEDED = ("what", "date", "bay")
#: What people call their columns, too.
ALSO = {
    "kind": "what", "type": "what", "entry": "what", "day": "date", "when": "date", "clock": "time",
    "heap": "bay", "bin": "bay", "garden": "site", "who": "person", "by": "person", "name": "person",
    "notes": "words", "note": "words", "remarks": "words", "comment": "words", "comments": "words",
    "stuff": "material", "feedstock": "material", "number": "count", "how_many": "count", "volume": "litres",
    "liters": "litres", "l": "litres", "weight": "kg", "kilograms": "kg", "weight_kg": "kg", "temp": "temperature_c",
    "temperature": "temperature_c", "temp_c": "temperature_c", "depth": "depth_cm", "squeeze_test": "squeeze",
    "fill": "fill_percent", "full": "fill_percent", "share": "share_percent",
}  # fmt: skip
#: The column, what it measures, and the field of the ledger that carries its bounds.
NUMBERS: dict[str, tuple[Measure, type, str]] = {
    "count": (cells.HALVES, kinds.Dropoff, "half_containers"),
    "litres": (cells.LITRES, kinds.Dropoff, "container_ml"),
    "kg": (cells.KG, kinds.Dropoff, "weighed_g"),
    "temperature_c": (cells.TEMP_C, kinds.Reading, "temp_tenths_c"),
    "depth_cm": (cells.CM, kinds.Reading, "depth_cm"),
    "fill_percent": (cells.SHARE, kinds.Reading, "fill_per_cent"),
    "bags": (cells.HALVES, kinds.Harvest, "half_bags"),
    "bag_litres": (cells.LITRES, kinds.Harvest, "bag_ml"),
    "share_percent": (cells.SHARE, kinds.Harvest, "per_cent"),
}
MISFIT = BadCell(
    'The cells do not fit the columns. Put "quotation marks" around a number or words with a comma inside.'
)
WHAT = {"drop-off": "dropoff", "dropoff": "dropoff", "drop off": "dropoff", "reading": "reading", "harvest": "harvest"}
SIEVED = {"": "coarse", "no": "coarse", "coarse": "coarse", "yes": "sieved", "sieved": "sieved"}


def taken_for(head: Sequence[str]) -> list[str | None]:
    """What each column is taken for by its name: one of ours, "" where it has no name, None if it is not known."""
    plain = [plainly(name).replace(" ", "_") for name in head]
    return [name if name in ("", *COLUMNS) else ALSO.get(name) for name in plain]


def wrong_with(columns: Sequence[str | None]) -> Unreadable | None:
    """Why a notebook cannot be read by such columns, or nothing."""
    if twice := [name for name in columns if name and columns.count(name) > 1]:
        return Unreadable("The column %(name)s stands there twice.", name=twice[0])
    if missing := [name for name in NEEDED if name not in columns]:
        return Unreadable("There is no column %(name)s. A notebook needs what, date and bay.", name=missing[0])
    return None


def rows(
    table: Table,
    lines: Iterable[Line],
    ground: Ground,
    importer: Member,
    columns: Sequence[str | None] | None = None,
) -> Iterator[Found | Bad]:
    """What each line of the notebook says, or what is wrong with it. `columns` says what each column is taken for;
    else its name does. Raises Unreadable for columns that cannot be understood."""
    head = taken_for(table.head) if columns is None else columns
    if strange := [name for name, meant in zip(table.head, head, strict=True) if meant is None]:
        known = ", ".join(COLUMNS)
        raise Unreadable("The column %(name)s is not known. Known columns: %(known)s.", name=strange[0], known=known)
    if wrong := wrong_with(head):
        raise wrong
    for number, written in lines:
        if written is not None and not any(cell.strip() for cell in written):
            continue
        if written is None or not table.fits(written):
            yield Bad(number, "", MISFIT)
            continue
        cells_of = {name: cell.strip() for name, cell in zip(head, written, strict=False) if name}
        row = _Row(cells_of, ground, table.has_decimal_commas)
        found = row.found(number, importer)
        yield from (Bad(number, *one) for one in row.problems)
        if not row.problems:
            yield found


@dataclass
class _Row:
    """One line on its way to an entry. What is wrong is gathered, so that it can be mended in one go."""

    cells: dict[str, str]
    ground: Ground
    decimal_commas: bool
    problems: list[tuple[str, Refusal]] = field(default_factory=list)

    def found(self, number: int, importer: Member) -> Found:
        site = self._take("site", self.ground.site)
        kind = self._take("what", _what)
        bay = self._take("bay", lambda name: self.ground.bay(site, name)) if site else None
        at = self._moment(site) if site else None
        person = self._take("person", self.ground.person) if self._text("person") else importer
        words = self._take("words", read_words)
        details = self._details(kind, site) if kind and site else {}
        raw = {
            "kind": kind,
            "site": str(site.uid) if site else "",
            "bay": str(bay.uid) if bay else None,
            "occurred_at": at.isoformat() if at else "",
            "details": {name: value for name, value in details.items() if value is not None},
            "words": words or "",
        }
        return Found(number, self._content(), raw, person or importer)

    def _details(self, kind: str, site: Site) -> dict[str, Any]:
        strange = [name for own, names in OWN.items() if own != kind for name in names if self._text(name)]
        for name in strange:
            self.problems.append((name, BadCell("This belongs to another kind of line. Put it on a line of its own.")))
        if kind == "dropoff":
            return self._dropoff(site)
        return self._reading() if kind == "reading" else self._harvest()

    def _dropoff(self, site: Site) -> dict[str, Any]:
        feedstock = self._take("material", self._feedstock)
        weighed_g = self._number("kg")
        said: dict[str, Any] = {"feedstock": feedstock, "weighed_g": weighed_g, "half_containers": 2}
        if self._text("container"):
            if self._text("litres"):
                self.problems.append(("litres", BadCell("Give a container and a count, or litres, not both.")))
            container = self._take("container", lambda name: self.ground.container(site, name))
            said["half_containers"] = self._number("count") or 2
            said["container"] = str(container.uid) if container else None
            said["container_ml"] = container.filled_ml if container else None
            return said
        if self._text("count"):
            self.problems.append(("count", BadCell("Say which container was counted, or give litres.")))
        said["container_ml"] = self._number("litres")
        if not self._text("litres"):
            if not self._text("kg"):
                self.problems.append(("litres", BadCell("Say how much it was: a container and a count, litres or kg.")))
            elif weighed_g and feedstock:
                said["container_ml"] = _estimated_ml(self.ground.materials, feedstock, weighed_g)
        return said

    def _reading(self) -> dict[str, Any]:
        said: dict[str, Any] = {
            "temp_tenths_c": self._number("temperature_c"),
            "place": self._choice("place", choices.PLACES),
            "depth_cm": self._number("depth_cm"),
            "squeeze": self._choice("squeeze", choices.SQUEEZES),
            "fill_per_cent": self._number("fill_percent"),
        }
        if not any(self._text(name) for name in ("temperature_c", "squeeze", "fill_percent")):
            self.problems.append(
                ("temperature_c", BadCell("A reading needs a temperature, a squeeze test or a fill level."))
            )
        return said

    def _harvest(self) -> dict[str, Any]:
        for name in ("bags", "share_percent"):
            if not self._text(name):
                self.problems.append((name, BadCell("A harvest needs this. A share of 100 per cent ends the heap.")))
        bag_ml = self._number("bag_litres")
        return {
            "half_bags": self._number("bags"),
            "bag_ml": self.ground.bag_litres * 1000 if bag_ml is None else bag_ml,
            "per_cent": self._number("share_percent"),
            "sieved": SIEVED.get(self._choice("sieved", tuple(filter(None, SIEVED))) or ""),
        }

    def _moment(self, site: Site) -> datetime | None:
        on = self._take("date", cells.day)
        at = self._take("time", cells.clock) if self._text("time") else cells.NOON
        if on is None or at is None:
            return None
        moment = cells.moment(on, at, ZoneInfo(site.time_zone))
        if not OLDEST <= moment <= datetime.now(UTC):
            self.problems.append(("date", BadCell("This day is in the future, or before 1990.")))
        return moment

    def _feedstock(self, name: str) -> str:
        if not name:
            raise BadCell("Say what was brought.")
        return read_feedstock(self.ground.material(name), self.ground.materials)

    def _number(self, column: str) -> int | None:
        if not self._text(column):
            return None
        measure, shape, name = NUMBERS[column]
        bounds = next(one.metadata for one in fields(shape) if one.name == name)
        least, most = bounds["least"], bounds["most"]
        return self._take(column, lambda text: cells.whole(text, measure, least, most, self.decimal_commas))

    def _choice(self, column: str, choices: tuple[str, ...]) -> str | None:
        text = plainly(self._text(column))
        if text and text not in choices:
            self.problems.append(
                (column, BadCell("%(found)s is none of: %(words)s.", found=text, words=", ".join(choices)))
            )
            return None
        return text or None

    def _take(self, column: str, read: Callable[[str], Value]) -> Value | None:
        try:
            return read(self._text(column))
        except (BadCell, Refusal) as bad:
            self.problems.append((column, bad))
            return None

    def _text(self, column: str) -> str:
        return self.cells.get(column, "")

    def _content(self) -> dict[str, str]:
        """What the line says, however its numbers and days are written."""
        said = {}
        for column, text in self.cells.items():
            if not text or column == "site":
                continue
            if column in NUMBERS:
                said[column] = cells.same_number(text)
            elif column == "date" and not self.problems:
                said[column] = cells.day(text).isoformat()
            else:
                said[column] = plainly(text)
        return said


def _what(text: str) -> str:
    if kind := WHAT.get(plainly(text)):
        return kind
    raise BadCell("Say what it was: drop-off, reading or harvest.")


def _estimated_ml(materials: Materials, feedstock: str, weighed_g: int) -> int:
    """The millilitres that so many grams usually take, by the published typical bulk density; half up.

    Not by the cooperative's own: the same line must say the same whenever the file is brought in.
    """
    density = materials.listed[feedstock].density_kg_m3 or 1000
    return (weighed_g * 1000 + density // 2) // density
