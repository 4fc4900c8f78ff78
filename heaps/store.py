"""What stands in store at each site, in whole containers, and how long ago it was counted."""

import json
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from heaps import ledger
from heaps.science.materials import Materials

Sizes = tuple[tuple[int, str], ...]  # what a container holds as it is usually filled, and its name


@dataclass(frozen=True)
class Held:
    """One material in store: whole containers that are left at least, and where that comes from.

    `container` is the name of one of the site's containers that holds as much as those that were counted, if any does.
    """

    feedstock: str
    container: str
    container_ml: int
    containers: int
    counted_ml: int
    went_ml: int
    counted_at: datetime

    def counted_on(self, time_zone: str) -> date:
        """The site's own day of the count."""
        return self.counted_at.astimezone(ZoneInfo(time_zone)).date()


def held(counted_json: str | None, sizes: Sizes, materials: Materials) -> tuple[Held, ...]:
    """What a stored stock says, in the order of the material table; what is not known any more is left out."""
    stock = ledger.stock_from_plain(json.loads(counted_json)) if counted_json else {}
    names = dict(reversed(sizes))
    return tuple(
        Held(
            feedstock,
            names.get(one.container_ml, ""),
            one.container_ml,
            one.left_ml // one.container_ml,
            one.counted_ml,
            one.went_ml,
            one.at,
        )
        for feedstock in materials
        if (one := stock.get(feedstock))
    )
