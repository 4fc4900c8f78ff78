"""Heaps that came to an end as bags: when they were last fed, what came out, when somebody first called them ready."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import cast

from heaps.ledger import kinds
from heaps.ledger.kinds import Entry


@dataclass(frozen=True)
class Ended:
    """A heap that was taken out as bags, to the last: `uid` is the entry that emptied its bay."""

    bay: str
    uid: str
    closed_at: datetime
    came_at: datetime  # when it came to lie in this bay
    taken_at: datetime  # the first bags
    ended_at: datetime
    ready_at: datetime | None
    ml: float  # all that was bagged


@dataclass(frozen=True)
class _Heap:
    """What lies in a bay since it was last fed; not `whole` once some of it went elsewhere."""

    closed_at: datetime
    came_at: datetime
    whole: bool = True
    taken_at: datetime | None = None
    ready_at: datetime | None = None
    ml: float = 0.0


Heaps = dict[str, _Heap]


def ended(standing: Iterable[Entry]) -> Iterator[Ended]:
    """From a site's standing entries in their order. Left out is whose bags do not tell of all that lay there."""
    heaps: Heaps = {}
    for entry in standing:
        if entry.bay and (happens := _HAPPENS.get(type(entry.what))) and (one := happens(heaps, entry, entry.bay)):
            yield one


def _fed(heaps: Heaps, entry: Entry, bay: str) -> None:
    """What came out of it before would have to be told from what comes out now."""
    before = heaps.get(bay)
    came_at = before.came_at if before else entry.at
    heaps[bay] = _Heap(entry.at, came_at, whole=before is None or (before.whole and not before.taken_at))


def _turned(heaps: Heaps, entry: Entry, bay: str) -> None:
    """One heap in another place waits on; several that are made into one wait anew. A part that stays behind does not
    tell of the whole any more."""
    gives = [one for one in cast(kinds.Turn, entry.what).sources if one.bay != bay and one.bay in heaps]
    if not gives:
        return
    met = [heaps[one.bay] for one in gives] + ([heaps[bay]] if bay in heaps else [])
    whole = all(one.whole and not one.taken_at for one in met)
    for one in gives:
        if one.per_cent == 100:
            del heaps[one.bay]
        else:
            heaps[one.bay] = replace(heaps[one.bay], whole=False)
    one_heap = replace(met[0], came_at=entry.at, whole=whole, taken_at=None, ml=0.0)
    heaps[bay] = one_heap if len(met) == 1 else _Heap(entry.at, entry.at, whole)


def _called(heaps: Heaps, entry: Entry, bay: str) -> None:
    if (heap := heaps.get(bay)) and not heap.ready_at and cast(kinds.Verdict, entry.what).ready == "ready":
        heaps[bay] = replace(heap, ready_at=entry.at)


def _taken(heaps: Heaps, entry: Entry, bay: str) -> Ended | None:
    if not (heap := heaps.get(bay)):
        return None
    said = cast(kinds.Harvest, entry.what)
    taken_at, ml = heap.taken_at or entry.at, heap.ml + said.half_bags * said.bag_ml / 2
    if said.per_cent < 100:
        heaps[bay] = replace(heap, taken_at=taken_at, ml=ml)
        return None
    del heaps[bay]
    if not (heap.whole and ml):
        return None
    return Ended(bay, entry.uid, heap.closed_at, heap.came_at, taken_at, entry.at, heap.ready_at, ml)


def _tipped_out(heaps: Heaps, _entry: Entry, bay: str) -> None:
    heaps.pop(bay, None)


_HAPPENS: dict[type, Callable[[Heaps, Entry, str], Ended | None]] = {
    kinds.Opening: _fed,
    kinds.Dropoff: _fed,
    kinds.Turn: _turned,
    kinds.Verdict: _called,
    kinds.Harvest: _taken,
    kinds.TipOut: _tipped_out,
}
