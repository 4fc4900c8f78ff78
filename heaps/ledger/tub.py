"""What soaks in a site's tub: a pure function of its entries. What went in first comes out first."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from heaps.ledger.kinds import Entry, Soak


@dataclass(frozen=True)
class Soaking:
    """So much of one kind of weed that went in at one moment and is in there still."""

    weed: str
    since: datetime
    volume_ml: int


def soaking(entries: Iterable[Entry]) -> tuple[Soaking, ...]:
    """What is in the tub after a site's standing entries, in any order; the oldest first.

    More out than in empties the kind: what somebody fished out without a record of its way in is no debt.
    """
    lying: list[Soaking] = []
    for entry in sorted(entries, key=lambda one: one.key):
        what = entry.what
        if not isinstance(what, Soak):
            continue
        volume_ml = what.half_containers * what.container_ml // 2
        if what.way == "in":
            lying.append(Soaking(what.weed, entry.at, volume_ml))
        else:
            lying = _without(lying, what.weed, volume_ml)
    return tuple(lying)


def _without(lying: list[Soaking], weed: str, volume_ml: int) -> list[Soaking]:
    rest = []
    for one in lying:
        out = min(volume_ml, one.volume_ml) if one.weed == weed else 0
        volume_ml -= out
        if one.volume_ml > out:
            rest.append(Soaking(one.weed, one.since, one.volume_ml - out))
    return rest
