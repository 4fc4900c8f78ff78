"""The stored state of each bay: carried forward by new entries, replayed from a checkpoint by late ones."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import Q

from heaps import ledger
from heaps.history.rows import Change, mended_at, standing
from heaps.ledger.heap import Key
from heaps.ledger.kinds import Dropoff
from heaps.models import Bay, Checkpoint, StoredBay, many
from heaps.science.materials import Materials

#: After these a bay's state is kept as a checkpoint, so that a late entry need not be replayed from the start.
#: Turns must be here: a replay of some bays relies on no turn lying between a bay's checkpoint and its start.
STEPS = frozenset({"turn", "harvest", "tip_out"})


def current_states(site_ids: Iterable[int]) -> dict[str, ledger.BayState]:
    """The stored states of all bays of some sites that have one, by bay uid."""
    stored = StoredBay.objects.filter(bay__site_id__in=site_ids).values_list("bay__uid", "state")
    return {str(uid): ledger.from_plain(state) for uid, state in stored}


def before(site_id: int, entry: ledger.Entry, materials: Materials) -> ledger.BayState:
    """What lay in an entry's bay just before it. No turn lies between a bay's checkpoint and the next, so one bay will
    do."""
    bay = entry.bay or ""
    begun = _state_before(bay, entry.key)
    states = {bay: begun}
    for one in standing(site_id, begun.upto[0] if begun.upto else None, Q(bay__uid=bay)):
        if bay in one.bays and _upto(begun) < one.key < entry.key:
            ledger.step(states, one, materials)
    return states[bay]


def carry(changes: Sequence[Change], site_id: int, materials: Materials) -> None:
    """Carry one site's stored states past some changes."""
    kept = _kept({bay for change in changes for side in change.sides for bay in side.bays})
    walk = _forward(changes, kept, materials)
    if walk is None:
        walk = _rewound(changes, site_id, materials)
        kept = _kept(walk.states)
    plain = {uid: ledger.to_plain(state) for uid, state in walk.states.items()}
    known = {uid: one.stored_id for uid, one in kept.items() if one.stored_id}
    still = ((pk, plain[uid]) for uid, pk in known.items() if walk.states[uid].upto)
    many.put(StoredBay, "state", still, counted="carried")
    if gone := [pk for uid, pk in known.items() if not walk.states[uid].upto]:
        StoredBay.objects.filter(pk__in=gone).delete()
    fresh = [uid for uid, state in walk.states.items() if state.upto and uid not in known]
    many.insert(StoredBay, ("bay_id", "state", "carried"), ((kept[uid].bay_id, plain[uid], 0) for uid in fresh))
    left = ((kept[uid].bay_id, *_upto(state), ledger.to_plain(state)) for uid, state in walk.checkpoints)
    many.insert(Checkpoint, ("bay_id", "at", "place", "uid", "state"), left)


class Kept(NamedTuple):
    """What is stored of a bay; without a state nothing was recorded there yet."""

    bay_id: int
    stored_id: int | None
    state: Any


def _kept(bays: Collection[str]) -> dict[str, Kept]:
    found = {pk: str(uid) for pk, uid in many.find(Bay, ("id", "uid"), uid=bays)}
    stored = {bay_id: kept for bay_id, *kept in many.find(StoredBay, ("bay_id", "id", "state"), bay_id=found)}
    return {uid: Kept(pk, *stored.get(pk, (None, None))) for pk, uid in found.items()}


@dataclass
class Walk:
    """States on their way through entries in their order, and the checkpoints left behind.

    Drop-offs wait until something else happens in their bay, or its month ends, and are tipped in together: a letter
    brings hundreds.
    """

    states: dict[str, ledger.BayState]
    materials: Materials
    checkpoints: list[tuple[str, ledger.BayState]] = field(default_factory=list)
    waiting: dict[str, list[ledger.Entry]] = field(default_factory=dict)

    def past(self, entry: ledger.Entry) -> None:
        """One entry on."""
        if entry.bay and isinstance(entry.what, Dropoff):
            self._wait(entry, entry.bay)
            return
        for bay in entry.bays:
            self._begin(bay, entry.at)
        ledger.step(self.states, entry, self.materials)
        if entry.what.kind in STEPS:
            for bay in entry.bays:
                self._leave(bay)

    def ended(self) -> "Walk":
        """With everything tipped in."""
        for bay in list(self.waiting):
            self._tip(bay)
        return self

    def _wait(self, entry: ledger.Entry, bay: str) -> None:
        waiting = self.waiting.get(bay)
        if waiting and _same_month(waiting[0].at, entry.at):
            waiting.append(entry)
            return
        self._begin(bay, entry.at)
        self.waiting[bay] = [entry]

    def _begin(self, bay: str, at: datetime) -> None:
        """Something else begins at a bay. It leaves a checkpoint, too, when its month has ended."""
        self._tip(bay)
        state = self.states.get(bay)
        if state and state.upto and not _same_month(state.upto[0], at):
            self._leave(bay)

    def _tip(self, bay: str) -> None:
        if entries := self.waiting.pop(bay, None):
            ledger.tip(self.states, bay, entries, self.materials)

    def _leave(self, bay: str) -> None:
        if (bay, self.states[bay]) not in self.checkpoints[-8:]:
            self.checkpoints.append((bay, self.states[bay]))


def _forward(changes: Sequence[Change], kept: Mapping[str, Kept], materials: Materials) -> Walk | None:
    """The common case: nothing but entries later than all that their bays hold. None when it is not that."""
    entries = sorted((change.after.key, change.after) for change in changes if change.after)
    if any(change.before for change in changes):
        return None
    walk = Walk({uid: ledger.from_plain(one.state) for uid, one in kept.items() if one.stored_id}, materials)
    for key, entry in entries:
        for bay in entry.bays:
            if (state := walk.states.get(bay)) and state.upto and state.upto >= key:
                return None
        walk.past(entry)
    return walk.ended()


def _rewound(changes: Sequence[Change], site_id: int, materials: Materials) -> Walk:
    """Go back to just before the earliest change, and replay only the bays that it reaches from there on."""
    sides = [side for change in changes for side in change.sides]
    start = min(side.key for side in sides)
    mended = mended_at(site_id)
    turns = standing(site_id, start[0], Q(kind="turn"), mended)
    bays = _reached({bay for side in sides for bay in side.bays}, turns)
    begun = {bay: _state_before(bay, start) for bay in bays}
    uptos = [state.upto for state in begun.values()]
    since = min(upto[0] for upto in uptos if upto) if uptos and all(uptos) else None
    _drop_checkpoints(bays, start)
    walk = Walk(dict(begun), materials)
    for entry in standing(site_id, since, _from_checkpoints(begun), mended):
        if not bays.isdisjoint(entry.bays) and all(_upto(begun.get(bay)) < entry.key for bay in entry.bays):
            walk.past(entry)
    walk.ended()
    known = {(bay, state.upto) for bay, state in begun.items()}
    walk.checkpoints = [(bay, state) for bay, state in walk.checkpoints if (bay, state.upto) not in known]
    return walk


def _from_checkpoints(begun: dict[str, ledger.BayState]) -> Q:
    """What was recorded in each bay since its own checkpoint."""
    chosen = Q(pk__in=[])
    for bay, state in begun.items():
        chosen |= Q(bay__uid=bay, effective_at__gte=state.upto[0]) if state.upto else Q(bay__uid=bay)
    return chosen


def _reached(bays: set[str], later: Iterable[ledger.Entry]) -> set[str]:
    """The bays that matter of `bays` can have come to, or met, by the turns among what came `later`."""
    turns = [set(turn.bays) for turn in later if turn.what.kind == "turn"]
    reached = set(bays)
    while more := {bay for turn in turns if not reached.isdisjoint(turn) for bay in turn} - reached:
        reached |= more
    return reached


def _state_before(bay: str, start: Key) -> ledger.BayState:
    """The latest checkpoint of a bay before `start`; an empty bay when there is none."""
    checkpoints = Checkpoint.objects.filter(bay__uid=bay, at__lte=start[0]).order_by("-at", "-place", "-uid")
    for one in checkpoints.iterator(chunk_size=20):
        if (one.at, one.place, one.uid) < start:
            return ledger.from_plain(one.state)
    return ledger.BayState()


def _drop_checkpoints(bays: set[str], start: Key) -> None:
    later = Checkpoint.objects.filter(bay__uid__in=bays, at__gte=start[0])
    gone = [pk for pk, at, place, uid in later.values_list("pk", "at", "place", "uid") if (at, place, uid) >= start]
    Checkpoint.objects.filter(pk__in=gone).delete()


def _upto(state: ledger.BayState | None) -> Any:
    """Up to which entry a state holds. An untouched bay holds less than any."""
    return (state.upto if state else None) or ()


def _same_month(one: datetime, other: datetime) -> bool:
    return one.month == other.month and one.year == other.year
