"""What one entry adds to the totals of its day. Totals are sums of these and nothing else."""

from collections.abc import Callable
from datetime import datetime
from operator import add, neg
from typing import Any, NamedTuple

from heaps.ledger import kinds
from heaps.ledger.contents import tipped
from heaps.ledger.kinds import Dropoff, Entry
from heaps.science.materials import Materials

#: What comes back from a sieve was counted when it first came in (common practice: count inputs once).
RETURNED = "screened-oversize"


class Heading(NamedTuple):
    """Under what an amount is summed, as `came in` or `mulched`.

    `detail` is the feedstock, or coarse / sieved for a harvest, or what sort of gathering or incident; `basis` is
    weighed or estimated for matter.
    """

    what: str
    detail: str = ""
    basis: str = ""


class Amount(NamedTuple):
    """Whole numbers that add up. `people` are those who came, each time counted anew."""

    entries: int = 0
    wet_g: int = 0
    volume_ml: int = 0
    half_bags: int = 0
    minutes: int = 0
    people: int = 0
    tenths_m2: int = 0

    def __add__(self, other: "Amount") -> "Amount":  # type: ignore[override]  # they add up
        return Amount(*map(add, self, other))

    def __neg__(self) -> "Amount":
        return Amount(*map(neg, self))


def amount_of(entry: Entry, materials: Materials) -> tuple[Heading, Amount] | None:
    """The one heading and amount of an entry, or None when it adds to no total (an opening never does)."""
    if isinstance(entry.what, Dropoff):
        return _came_in(entry.what, entry.at, materials)
    counts = COUNTS.get(type(entry.what))
    return counts(entry.what) if counts else None


def _came_in(what: Dropoff, at: datetime, materials: Materials) -> tuple[Heading, Amount]:
    basis, load = tipped(what, at, materials)
    heading = Heading("returned" if what.feedstock == RETURNED else "came in", what.feedstock, basis)
    return heading, Amount(1, wet_g=load.wet_g, volume_ml=load.volume_ml)


def _bags(what: Any) -> Amount:
    return Amount(1, volume_ml=what.half_bags * what.bag_ml // 2, half_bags=what.half_bags)


def _refused(what: Any) -> tuple[Heading, Amount]:
    volume_ml = (what.half_containers or 0) * (what.container_ml or 0) // 2
    return Heading("refused", what.feedstock), Amount(1, volume_ml=volume_ml)


#: How each kind that adds to a total does so, whatever the materials weigh.
COUNTS: dict[type, Callable[[Any], tuple[Heading, Amount]]] = {
    kinds.RefusedLoad: _refused,
    kinds.Harvest: lambda what: (Heading("harvested", what.sieved), _bags(what)),
    kinds.Collection: lambda what: (Heading("collected"), _bags(what)),
    kinds.Spread: lambda what: (Heading("mulched"), Amount(1, tenths_m2=what.tenths_m2)),
    kinds.Hours: lambda what: (Heading("hours"), Amount(1, minutes=what.minutes * what.people)),
    kinds.Gathering: lambda what: (Heading("gatherings", what.sort), Amount(1, people=what.people)),
    kinds.Incident: lambda what: (Heading("incidents", what.what), Amount(1)),
}
