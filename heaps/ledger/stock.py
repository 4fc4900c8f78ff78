"""What stands in store of each material: the last count, less what went into heaps since."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from heaps.ledger.heap import Key
from heaps.ledger.kinds import Dropoff, Entry, Stocktake


@dataclass(frozen=True)
class Counted:
    """The last count of one material, in containers of `container_ml`, and the millilitres that were tipped since.

    Nobody records whether a load came out of the store or was brought along, so every load of the material is taken
    off: what stands there is at least this.
    """

    key: Key
    container_ml: int
    counted_ml: int
    went_ml: int = 0

    @property
    def at(self) -> datetime:
        """When it was counted."""
        return self.key[0]

    @property
    def left_ml(self) -> int:
        """What is left of it, at least."""
        return max(0, self.counted_ml - self.went_ml)


Stock = dict[str, Counted]


def stock_of(entries: Iterable[Entry]) -> Stock:
    """By feedstock, what a site's standing entries say that it has. They must be in the order in which they happened.

    A count takes the place of the one before it, whatever container that was in.
    """
    stock: Stock = {}
    for entry in entries:
        what = entry.what
        if isinstance(what, Stocktake) and what.feedstock:
            counted_ml = what.half_containers * what.container_ml // 2
            stock[what.feedstock] = Counted(entry.key, what.container_ml, counted_ml)
        elif isinstance(what, Dropoff) and what.feedstock in stock:
            stock[what.feedstock] = taken(stock[what.feedstock], entry, 1)
    return stock


def taken(counted: Counted, load: Entry, sign: int) -> Counted:
    """A count once a load of its material was tipped (1), or is no longer thought to have been (-1)."""
    if load.key < counted.key:
        return counted
    return replace(counted, went_ml=counted.went_ml + sign * tipped_ml(load))


def tipped_ml(load: Entry) -> int:
    """The millilitres of a load."""
    what = load.what
    return what.half_containers * what.container_ml // 2 if isinstance(what, Dropoff) else 0


def material_of(entry: Entry) -> str:
    """The material whose stock an entry moves, or nothing."""
    return (entry.what.feedstock or "") if isinstance(entry.what, (Dropoff, Stocktake)) else ""


def stock_to_plain(stock: Stock) -> dict[str, Any]:
    """A stock as values that JSON knows, the same for the same stock."""
    return {
        feedstock: [one.at.isoformat(), one.key[1], one.key[2], one.container_ml, one.counted_ml, one.went_ml]
        for feedstock, one in sorted(stock.items())
    }


def stock_from_plain(raw: dict[str, Any]) -> Stock:
    """The stock again from what `stock_to_plain` made of it."""
    return {
        feedstock: Counted((datetime.fromisoformat(at), place, uid), *litres)
        for feedstock, (at, place, uid, *litres) in raw.items()
    }
