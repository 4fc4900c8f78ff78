"""What one entry adds to the totals of its day. Totals are sums of these and nothing else."""

from dataclasses import dataclass

from heaps.ledger.kinds import Collection, Dropoff, Entry, Harvest, Hours
from heaps.ledger.replay import load_of

#: What comes back from a sieve was counted when it first came in (common practice: count inputs once).
RETURNED = "screened-oversize"


@dataclass(frozen=True)
class Heading:
    """Under what an amount is summed: `came in`, `returned`, `harvested`, `collected` or `hours`.

    `detail` is the feedstock, or coarse / sieved for a harvest; `basis` is weighed or estimated for matter.
    """

    what: str
    detail: str = ""
    basis: str = ""


@dataclass(frozen=True)
class Amount:
    """Whole numbers that add up."""

    entries: int = 0
    wet_g: int = 0
    volume_ml: int = 0
    half_bags: int = 0
    minutes: int = 0

    def __add__(self, other: "Amount") -> "Amount":
        return Amount(
            self.entries + other.entries,
            self.wet_g + other.wet_g,
            self.volume_ml + other.volume_ml,
            self.half_bags + other.half_bags,
            self.minutes + other.minutes,
        )

    def __neg__(self) -> "Amount":
        return Amount(-self.entries, -self.wet_g, -self.volume_ml, -self.half_bags, -self.minutes)


def amount_of(entry: Entry) -> tuple[Heading, Amount] | None:
    """The one heading and amount of an entry, or None when it adds to no total (an opening never does)."""
    what = entry.what
    if isinstance(what, Dropoff):
        ((key, load),) = load_of(what).items()
        feedstock, basis = key.split("/")
        heading = Heading("returned" if feedstock == RETURNED else "came in", feedstock, basis)
        return heading, Amount(entries=1, wet_g=load.wet_g, volume_ml=load.volume_ml)
    if isinstance(what, Harvest):
        volume_ml = what.half_bags * what.bag_ml // 2
        return Heading("harvested", what.sieved), Amount(1, volume_ml=volume_ml, half_bags=what.half_bags)
    if isinstance(what, Collection):
        volume_ml = what.half_bags * what.bag_ml // 2
        return Heading("collected"), Amount(1, volume_ml=volume_ml, half_bags=what.half_bags)
    if isinstance(what, Hours):
        return Heading("hours"), Amount(1, minutes=what.minutes * what.people)
    return None
