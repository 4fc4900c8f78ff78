"""A bay cut through and drawn: its layers from the ground up, how full it is, and where it was how warm."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from heaps import ledger
from heaps.board.bay import BayFacts
from heaps.ledger.kinds import Reading, Turn
from heaps.science.blend import PACKING
from heaps.science.materials import Materials

#: The group of matter that was forked together, so that its parts can no longer be told apart.
MIXED = "mixed"
#: Room for a bay, in units of the drawing: about a third of a phone's screen.
ROOM = (230.0, 190.0)
SMALL_ROOM = (84.0, 64.0)
#: A layer lower than this has no room for its name; the table names it.
NAMED_FROM = 15.0
#: Where a probe stands, from the heap's left edge and from its top, in parts of the heap.
SPOTS = {"core": (0.5, 0.5), "edge": (0.14, 0.5), "top": (0.5, 0.12), "base": (0.5, 0.88)}


@dataclass(frozen=True)
class Band:
    """One layer as drawn: from `y` downwards by `height`, from the left wall to the right one."""

    group: str
    material: str | None
    volume_ml: int
    y: float
    height: float

    @property
    def middle(self) -> float:
        """Where its name stands."""
        return self.y + self.height / 2

    @property
    def is_named(self) -> bool:
        """Whether there is room for its name."""
        return self.height >= NAMED_FROM


@dataclass(frozen=True)
class Spot:
    """The latest reading of one place since the last turn, and where it stands in the drawing."""

    place: str
    tenths_c: int
    x: float
    y: float


@dataclass(frozen=True)
class Section:
    """A bay cut through, in units of the drawing. `brim` is the height of the bay's upper edge, 0 the drawing's top.

    `per_cent` is how full it is; it is not `sure` where nobody has looked and the heap may have sunk.
    """

    width: float
    height: float
    brim: float
    bands: tuple[Band, ...]  # from the ground up
    per_cent: int
    sure: bool
    spots: tuple[Spot, ...] = ()

    @property
    def top(self) -> float:
        """The height of the heap's own top."""
        return self.bands[-1].y if self.bands else self.height

    @property
    def downwards(self) -> tuple[Band, ...]:
        """The layers as they are met from above."""
        return self.bands[::-1]

    @property
    def volume_ml(self) -> int:
        """All layers together, as tipped."""
        return sum(band.volume_ml for band in self.bands)


def section_of(
    bay: BayFacts,
    layers: Sequence[ledger.Layer],
    per_cent: int | None,
    materials: Materials,
    room: tuple[float, float] = ROOM,
) -> Section:
    """A bay with these layers in it, filled so far; None where nobody has looked and the heap may have sunk."""
    reckoned = min(100, _tipped_per_cent(bay, layers)) if per_cent is None else per_cent
    return _cut(bay, layers, reckoned, per_cent is not None, materials, room)


def before_last_turn(
    batch: ledger.Batch | None, bays: dict[str, BayFacts], materials: Materials
) -> tuple[tuple[BayFacts, Section], ...]:
    """The bays as they lay just before the last turn; how high they stood then is reckoned from what was tipped."""
    if batch is None:
        return ()
    then = ((bays[one.bay], one.layers) for one in batch.unturned if one.bay in bays)
    return tuple((bay, section_of(bay, layers, None, materials, SMALL_ROOM)) for bay, layers in then)


def spots_of(section: Section, entries: Iterable[ledger.Entry]) -> tuple[Spot, ...]:
    """The latest temperature of each place since the last turn, in the order of `entries`, which is that of time."""
    latest: dict[str, int] = {}
    for entry in entries:
        if isinstance(entry.what, Turn):
            latest.clear()
        elif isinstance(entry.what, Reading) and entry.what.temp_tenths_c is not None:
            latest[entry.what.place or "core"] = entry.what.temp_tenths_c
    deep = section.height - section.top
    return tuple(
        Spot(place, tenths_c, across * section.width, section.top + down * deep)
        for place, (across, down) in SPOTS.items()
        if (tenths_c := latest.get(place)) is not None and deep
    )


def _tipped_per_cent(bay: BayFacts, layers: Iterable[ledger.Layer]) -> int:
    return round(100 * sum(layer.volume_ml for layer in layers) / PACKING / bay.volume_ml)


def _cut(
    bay: BayFacts,
    layers: Sequence[ledger.Layer],
    per_cent: int,
    sure: bool,
    materials: Materials,
    room: tuple[float, float],
) -> Section:
    """A bay in proportion, as large as the room allows; a heap above the brim needs room above it, too."""
    heaped = max(1.0, per_cent / 100)
    scale = min(room[0] / bay.width_cm, room[1] / (bay.height_cm * heaped))
    wall = bay.height_cm * scale
    bands = tuple(_bands(layers, wall * heaped, wall * per_cent / 100, materials))
    return Section(bay.width_cm * scale, wall * heaped, wall * (heaped - 1), bands, per_cent, sure)


def _bands(layers: Sequence[ledger.Layer], ground: float, deep: float, materials: Materials) -> Iterator[Band]:
    whole = sum(layer.volume_ml for layer in layers)
    y = ground
    for layer in layers:
        height = deep * layer.volume_ml / whole if whole else 0.0
        y -= height
        stuff = materials[layer.feedstock] if layer.feedstock else None
        yield Band(stuff.group if stuff else MIXED, _(stuff.short) if stuff else None, layer.volume_ml, y, height)
