"""Bags in store: made, handed out and spread, and counted now and then. A pure function of a site's entries."""

from collections.abc import Iterable
from dataclasses import dataclass

from heaps.ledger.kinds import Collection, Entry, Harvest, Spread, Stocktake


@dataclass(frozen=True)
class Bags:
    """Half bags of one size. `made`, `fetched` and `spread` are since the last count, of which `counted` is the last.

    `in_store` is never less than none: `unexplained` half bags went that nobody made or counted.
    """

    bag_ml: int
    counted: Entry | None = None
    made: int = 0
    fetched: int = 0
    spread: int = 0
    in_store: int = 0
    unexplained: int = 0


def bags_in_store(entries: Iterable[Entry]) -> dict[int, Bags]:
    """The bags of one site by size, from its standing entries in any order."""
    found: dict[int, Bags] = {}
    for entry in sorted(entries, key=lambda one: one.key):
        what = entry.what
        if isinstance(what, Stocktake) and what.feedstock is None:
            found[what.container_ml] = Bags(what.container_ml, entry, in_store=what.half_containers)
        elif isinstance(what, Harvest) and what.half_bags:
            found[what.bag_ml] = _with(found.get(what.bag_ml, Bags(what.bag_ml)), made=what.half_bags)
        elif isinstance(what, Collection):
            found[what.bag_ml] = _with(found.get(what.bag_ml, Bags(what.bag_ml)), fetched=what.half_bags)
        elif isinstance(what, Spread) and what.half_bags and what.bag_ml:
            found[what.bag_ml] = _with(found.get(what.bag_ml, Bags(what.bag_ml)), spread=what.half_bags)
    return found


def _with(bags: Bags, made: int = 0, fetched: int = 0, spread: int = 0) -> Bags:
    left = bags.in_store + made - fetched - spread
    return Bags(
        bags.bag_ml,
        bags.counted,
        bags.made + made,
        bags.fetched + fetched,
        bags.spread + spread,
        max(0, left),
        bags.unexplained + max(0, -left),
    )
