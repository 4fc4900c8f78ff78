"""Replay: a site's entries, in any order and with any repeats, become the state of its bays.

`replay` is the whole truth. `step` is the same truth one entry at a time, for whoever keeps the states.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import cast

from heaps.ledger import kinds
from heaps.ledger.contents import content_of, load_of
from heaps.ledger.corrections import effective
from heaps.ledger.heap import (
    Ancestor,
    Batch,
    BayState,
    Mark,
    Remark,
    Unturned,
    changed,
    laid_on,
    mixed,
    split,
    thinner,
    together,
)
from heaps.ledger.kinds import Correction, Dropoff, Entry, Harvest, Opening, Reading, Sign, Turn, Verdict, Water
from heaps.science.materials import Materials
from heaps.science.signs import watched_as

States = dict[str, BayState]
EMPTY = BayState()
#: Raised by whoever changes what replay makes of the same entries: states stored by another are then made anew.
REPLAY = 4


@dataclass(frozen=True)
class Replayed:
    """What a ledger says: the state of each bay, the entries that stand, corrections that wait for an original."""

    bays: States
    standing: tuple[Entry, ...]
    waiting: tuple[Entry, ...]


def replay(entries: Iterable[Entry], materials: Materials) -> Replayed:
    """The state of every bay the entries touch. Order and repeats of `entries` do not matter."""
    unique = {entry.uid: entry for entry in entries}
    standing = effective(unique.values())
    states: States = {}
    for entry in standing:
        step(states, entry, materials)
    waiting = [one for one in unique.values() if isinstance(one.what, Correction) and one.what.corrects not in unique]
    return Replayed(states, tuple(standing), tuple(sorted(waiting, key=lambda one: one.key)))


def step(states: States, entry: Entry, materials: Materials) -> None:
    """Carry the states of the bays that `entry` touches past it. `entry` must come after all they hold."""
    kind = type(entry.what)
    if entry.bay and kind in FILLS:
        FILLS[kind](states, entry, entry.bay, materials)
    elif entry.bay and kind in HAPPENS:
        HAPPENS[kind](states, entry, entry.bay)
    key = entry.key
    for bay in entry.bays:
        state = states.get(bay, EMPTY)
        states[bay] = BayState(state.batch, state.closed_at, key, state.remarks)


def tip(states: States, bay: str, entries: Sequence[Entry], materials: Materials) -> None:
    """Carry a bay's state past drop-offs into it, with nothing else between them: a batch begins in an empty bay, and
    what was ready is so no more."""
    state, first, last = states.get(bay, EMPTY), entries[0], entries[-1]
    if state.closed_at:
        for entry in entries:
            state = _remark(state, entry, "into a closed bay")
    batch = state.batch or Batch(uid=first.uid, bay=bay, began=first.at)
    content, layers = batch.content.copy(), batch.layers
    for entry in entries:
        what = cast(Dropoff, entry.what)
        key, load = load_of(what, entry.at, materials)
        content[key] = content[key] + load if key in content else load
        layers = laid_on(layers, what.feedstock, load.volume_ml)
    fuller = changed(batch, content=content, layers=layers, fed_at=_later(batch.fed_at, last.at), ready_at=None)
    states[bay] = BayState(fuller, state.closed_at, last.key, state.remarks)


def _remark(state: BayState, entry: Entry, code: str) -> BayState:
    if entry.stands:
        return state
    return state._replace(remarks=(*state.remarks, Remark(uid=entry.uid, code=code, at=entry.at)))


def _holding(state: BayState, batch: Batch) -> BayState:
    """A bay as it was, with its batch as it is now."""
    return BayState(batch, state.closed_at, state.upto, state.remarks)


def _later(one: datetime | None, other: datetime) -> datetime:
    return one if one and one > other else other


def _opening(states: States, entry: Entry, bay: str, materials: Materials) -> None:
    state, began = states.get(bay, EMPTY), entry.at - timedelta(days=cast(Opening, entry.what).age_days)
    batch, content = state.batch or Batch(uid=entry.uid, bay=bay, began=began), content_of(entry, materials)
    fuller = changed(
        batch,
        content=together((batch.content, content)),
        layers=laid_on(batch.layers, None, sum(load.volume_ml for load in content.values())),
        fed_at=_later(batch.fed_at, began),
        ready_at=None,
        guessed=True,
    )
    states[bay] = _holding(state, fuller)


def _dropoff(states: States, entry: Entry, bay: str, materials: Materials) -> None:
    tip(states, bay, (entry,), materials)


def _reading(states: States, entry: Entry, bay: str) -> None:
    state, what = states.get(bay, EMPTY), cast(Reading, entry.what)
    if not (batch := state.batch):
        return
    if what.temp_tenths_c is not None:
        batch = changed(batch, temp=Mark(entry.at, what.temp_tenths_c, what.air_tenths_c))
    if what.squeeze is not None:
        batch = changed(batch, squeeze=Mark(entry.at, what.squeeze))
    if what.fill_per_cent is not None:
        batch = changed(batch, fill=Mark(entry.at, what.fill_per_cent))
    signs = {**batch.signs, **dict.fromkeys(what.signs, entry.at)}
    states[bay] = _holding(state, changed(batch, signs=signs))


def _sign(states: States, entry: Entry, bay: str) -> None:
    """Seen or done something about: it is looked at again. Gone: it is not."""
    state, what = states.get(bay, EMPTY), cast(Sign, entry.what)
    if state.batch:
        sign = watched_as(what.sign)
        signs = {**state.batch.signs, sign: entry.at}
        if what.says == "gone":
            del signs[sign]
        states[bay] = _holding(state, changed(state.batch, signs=signs))


def _water(states: States, entry: Entry, bay: str) -> None:
    state, what = states.get(bay, EMPTY), cast(Water, entry.what)
    if state.batch:
        # A squeeze test from before says nothing any more.
        more = changed(state.batch, water_ml=state.batch.water_ml + what.volume_ml, squeeze=None)
        states[bay] = _holding(state, more)


def _turn(states: States, entry: Entry, into: str) -> None:
    what = cast(Turn, entry.what)
    shares = [share for share in what.sources if states.get(share.bay, EMPTY).batch]
    if not shares:
        states[into] = _remark(states.get(into, EMPTY), entry, "turn of an empty bay")
        return
    moved = [_take(states, share) for share in shares if share.bay != into]
    resident = states.get(into, EMPTY)
    if not moved:
        states[into] = _holding(resident, _forked(cast(Batch, resident.batch), entry))
        return
    parts = [*moved, *([resident] if resident.batch else [])]
    closed = [part.closed_at for part in parts]
    states[into] = resident._replace(
        batch=_joined([cast(Batch, part.batch) for part in parts], entry, into),
        closed_at=max(moment for moment in closed if moment) if all(closed) else None,
    )


def _forked(batch: Batch, entry: Entry) -> Batch:
    """A batch turned within its own bay."""
    return changed(
        batch,
        turned_at=entry.at,
        turns=batch.turns + 1,
        layers=(mixed(batch.layers),),
        unturned=(Unturned(batch.bay, batch.layers),),
    )


def _take(states: States, share: kinds.Share) -> BayState:
    """Take a share out of a bay; answers with what moves, as a state with the bay's own marks."""
    state = states[share.bay]
    batch = cast(Batch, state.batch)
    moving, staying = split(batch.content, share.per_cent)
    water_ml = batch.water_ml * share.per_cent // 100
    if share.per_cent == 100:
        states[share.bay] = state._replace(batch=None, closed_at=None)
    else:
        rest = changed(batch, content=staying, water_ml=batch.water_ml - water_ml, fill=None)
        states[share.bay] = _holding(state, changed(rest, layers=thinner(batch.layers, share.per_cent)))
    moved = changed(batch, content=moving, water_ml=water_ml, layers=thinner(batch.layers, 100 - share.per_cent))
    return _holding(state, moved)


def _joined(parts: list[Batch], entry: Entry, into: str) -> Batch:
    """Several batches as the one that lies in `into` after the turn."""
    temps = [part.temp for part in parts if part.temp]
    ready = [part.ready_at for part in parts]
    ancestors = {uid: one for part in parts for uid, one in part.ancestors.items()}
    for part in parts:
        ancestors[part.uid] = Ancestor(part.bay, part.began, entry.at, part.parents)
    return Batch(
        uid=entry.uid,
        bay=into,
        began=entry.at,
        parents=tuple(sorted(part.uid for part in parts)),
        ancestors=ancestors,
        content=together(part.content for part in parts),
        water_ml=sum(part.water_ml for part in parts),
        guessed=any(part.guessed for part in parts),
        fed_at=max((part.fed_at for part in parts if part.fed_at), default=None),
        turned_at=entry.at,
        turns=max(part.turns for part in parts) + 1,
        temp=max(temps, key=lambda mark: mark.at, default=None),
        ready_at=max(moment for moment in ready if moment) if all(ready) else None,
        layers=(mixed(layer for part in parts for layer in part.layers),),
        unturned=tuple(Unturned(part.bay, part.layers) for part in parts),
        signs=_latest(part.signs for part in parts),
    )


def _latest(signs: Iterable[dict[str, datetime]]) -> dict[str, datetime]:
    """Of each sign the latest moment: what one of the heaps showed, all of them are looked at for."""
    return dict(sorted((one for seen in signs for one in seen.items()), key=lambda one: one[1]))


def _close(states: States, entry: Entry, bay: str) -> None:
    states[bay] = states.get(bay, EMPTY)._replace(closed_at=entry.at)


def _reopen(states: States, entry: Entry, bay: str) -> None:
    states[bay] = states.get(bay, EMPTY)._replace(closed_at=None)


def _verdict(states: States, entry: Entry, bay: str) -> None:
    state, what = states.get(bay, EMPTY), cast(Verdict, entry.what)
    if not state.batch:
        states[bay] = _remark(state, entry, "verdict on an empty bay")
        return
    ready_at = entry.at if what.ready == "ready" else None
    states[bay] = _holding(state, changed(state.batch, ready_at=ready_at))


def _harvest(states: States, entry: Entry, bay: str) -> None:
    state, what = states.get(bay, EMPTY), cast(Harvest, entry.what)
    if not (batch := state.batch):
        states[bay] = _remark(state, entry, "harvest of an empty bay")
        return
    if what.per_cent == 100:
        states[bay] = state._replace(batch=None, closed_at=None)
        return
    _, staying = split(batch.content, what.per_cent)
    rest = changed(
        batch,
        content=staying,
        water_ml=batch.water_ml - batch.water_ml * what.per_cent // 100,
        layers=thinner(batch.layers, what.per_cent),
        fill=None,
        taken_half_bags=batch.taken_half_bags + what.half_bags,
    )
    states[bay] = _holding(state, rest)


def _tip_out(states: States, entry: Entry, bay: str) -> None:
    state = states.get(bay, EMPTY)
    states[bay] = state._replace(batch=None, closed_at=None)


#: What brings matter in, and so asks what it weighs.
FILLS: dict[type, Callable[[States, Entry, str, Materials], None]] = {
    kinds.Opening: _opening,
    kinds.Dropoff: _dropoff,
}
HAPPENS: dict[type, Callable[[States, Entry, str], None]] = {
    kinds.Reading: _reading,
    kinds.Sign: _sign,
    kinds.Water: _water,
    kinds.Turn: _turn,
    kinds.Close: _close,
    kinds.Reopen: _reopen,
    kinds.Verdict: _verdict,
    kinds.Harvest: _harvest,
    kinds.TipOut: _tip_out,
}
