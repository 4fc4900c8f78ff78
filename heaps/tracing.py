"""Following loads through turns, harvests and bays, as replay moves what lies in them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Q

from heaps import history, ledger
from heaps.ledger.kinds import Dropoff, Harvest, TipOut, Turn
from heaps.models import Site

MOVES = (Turn, Harvest, TipOut)


@dataclass
class Stay:
    """From when to when some of the loads lay in a bay (None: they lie there still), and how they came and went."""

    bay: str
    began: ledger.Entry
    ended: ledger.Entry | None = None


@dataclass
class Followed:
    """Where loads lie by now, by bay; each bay they have lain in; and what came out of heaps with some of them in.

    A stay ends when the bay is emptied; one from which a share was moved on goes on.
    """

    lying: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    stays: list[Stay] = field(default_factory=list)
    harvests: list[ledger.Entry] = field(default_factory=list)

    @property
    def half_bags(self) -> int:
        """All the half bags of these harvests."""
        return sum(one.what.half_bags for one in self.harvests if isinstance(one.what, Harvest))


def follow(site: Site, loads: list[ledger.Entry]) -> Followed:
    """Follow loads through the site's turns and harvests.

    A turn or harvest of a share takes some of every load along, because a heap is mixed; so a load may lie in
    several bays.
    """
    return followed([*loads, *_moves(site, loads)])


def followed(entries: Iterable[ledger.Entry]) -> Followed:
    """Follow every load among `entries`, which must hold whatever has moved matter since the first of them."""
    found = Followed()
    for entry in sorted(entries, key=lambda entry: entry.key):
        lay = {bay for bay, loads in found.lying.items() if loads}
        _past(found, entry)
        _keep_stays(found, entry, lay)
    return found


def _past(found: Followed, entry: ledger.Entry) -> None:
    what, bay, lying = entry.what, entry.bay or "", found.lying
    if isinstance(what, Dropoff):
        lying[bay].add(entry.uid)
    elif isinstance(what, Turn):
        _turn(lying, what, bay)
    elif isinstance(what, Harvest) and lying[bay]:
        found.harvests.append(entry)
    if isinstance(what, TipOut) or (isinstance(what, Harvest) and what.per_cent == 100):
        lying[bay] = set()


def _turn(lying: dict[str, set[str]], what: Turn, into: str) -> None:
    for share in what.sources:
        if share.bay != into:
            lying[into] |= lying[share.bay]
            if share.per_cent == 100:
                lying[share.bay] = set()


def _keep_stays(found: Followed, entry: ledger.Entry, lay: set[str]) -> None:
    """Begin and end stays by where something lay before the entry, and where it lies after it."""
    lies = {bay for bay, loads in found.lying.items() if loads}
    if gone := lay - lies:
        for stay in found.stays:
            if stay.ended is None and stay.bay in gone:
                stay.ended = entry
    found.stays += [Stay(bay, entry) for bay in sorted(lies - lay)]


def _moves(site: Site, loads: list[ledger.Entry]) -> list[ledger.Entry]:
    """What has moved matter at a site since the first of the loads."""
    if not loads:
        return []
    found = history.standing(site.pk, min(one.at for one in loads), Q(kind__in=[kind.kind for kind in MOVES]))
    return [entry for entry in found if isinstance(entry.what, MOVES)]
