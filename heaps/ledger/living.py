"""From entries to what happens in the living heap: the bays of one site as a block, its events by day, what was read.

It follows the same rules as `replay`: what is turned takes its history along, and a bay that is emptied begins anew.
"""

from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import cast

from heaps.ledger import kinds
from heaps.ledger.contents import content_of
from heaps.ledger.kinds import Entry
from heaps.science.blend import Part
from heaps.science.living import events
from heaps.science.living.outlook import Record
from heaps.science.living.readings import Fill, Warmth
from heaps.science.materials import Materials

DayOf = Callable[[datetime], date]
#: A look in words, and how much can then be told apart (common practice: the same five steps from fresh to like soil).
TOLD_APART: Mapping[str, str] = {"fresh": "all", "matted": "most", "bitty": "half", "crumbly": "some", "earthy": "none"}
#: A look tells most of the date some 60 days after the last load (tried on heaps that another model made).
LOOK_FROM_DAYS, LOOK_UNTIL_DAYS = 40, 90


@dataclass(frozen=True)
class Told:
    """What the entries of a site tell of the heaps that lie there now: `begins` is day 0 of all days in it, `rows` the
    place of each bay, `records` what is known of the heap in each bay that is not empty, and `began` the day of its
    first matter, both by its row."""

    begins: date
    rows: dict[str, int]
    events: tuple[events.Event, ...]
    records: dict[int, Record]
    began: dict[int, int]


@dataclass(frozen=True)
class _Lying:
    """What lies in a bay as the entries go by; `began` is the day of its first matter, wherever that was tipped."""

    began: int
    tipped_l: float = 0.0
    warmths: tuple[Warmth, ...] = ()
    fills: tuple[Fill, ...] = ()
    fed: int | None = None
    not_ready: int | None = None
    look: str | None = None


@dataclass
class _Site:
    """A site while its entries are gone through; days are ordinals."""

    rows: dict[str, int]
    materials: Materials
    lying: dict[str, _Lying] = field(default_factory=dict)
    happened: list[events.Event] = field(default_factory=list)


def tell(standing: Iterable[Entry], bays: Sequence[str], materials: Materials, day_of: DayOf) -> Told | None:
    """The site's standing entries in their order (`replay(...).standing`) as events; None if no bay holds anything.

    What ended before anything that lies there now began is left out. `day_of` gives the site's local day.
    """
    (told,) = tell_before((None,), standing, bays, materials, day_of)
    return told


def tell_before(
    moments: Iterable[datetime | None],
    standing: Iterable[Entry],
    bays: Sequence[str],
    materials: Materials,
    day_of: DayOf,
) -> Iterator[Told | None]:
    """The same as it stood at each of some moments, in their order; None is the end of all."""
    site, entries = _Site({bay: row for row, bay in enumerate(bays)}, materials), deque(standing)
    for moment in moments:
        while entries and (moment is None or entries[0].at < moment):
            entry = entries.popleft()
            if entry.bay in site.rows and (telling := _TELLS.get(type(entry.what))):
                telling(site, entry, entry.bay, day_of(entry.at).toordinal())
        yield _told(site)


def _told(site: _Site) -> Told | None:
    if not site.lying:
        return None
    begins = min(one.began for one in site.lying.values())
    return Told(
        begins=date.fromordinal(begins),
        rows=site.rows,
        events=tuple(replace(one, day=one.day - begins) for one in site.happened if one.day >= begins),
        records={site.rows[bay]: _record(one, begins) for bay, one in site.lying.items()},
        began={site.rows[bay]: one.began - begins for bay, one in site.lying.items()},
    )


def concerning(told: Told, bays: Collection[str]) -> Told:
    """Of some heaps alone: they and the bays their matter has lain in, as long as it lay there, from their first day.

    What was forked away to others was taken out; where it went is another's matter.
    """
    records = {row: told.records[row] for bay in bays if (row := told.rows.get(bay)) in told.records}
    since = min((told.began[row] for row in records), default=0)
    kept = _walked_back(told.events, set(records), since)
    reached = set(records).union(*(_touches(one) for one in kept))
    place = {row: number for number, row in enumerate(sorted(reached))}
    return Told(
        begins=told.begins + timedelta(days=since),
        rows={bay: place[row] for bay, row in told.rows.items() if row in place},
        events=tuple(_placed(one, place, since) for one in kept),
        records={place[row]: _earlier(record, since) for row, record in records.items()},
        began={place[row]: told.began[row] - since for row in records},
    )


def _walked_back(happened: Sequence[events.Event], wanted: set[int], since: int) -> list[events.Event]:
    """What happened to matter that ends up in the wanted bays; what lay there before is none of it."""
    kept: list[events.Event] = []
    for event in reversed(happened):
        if event.day < since:
            break
        if isinstance(event, events.Taking | events.Move) and event.share == 1:
            wanted.discard(event.heap)
        if isinstance(event, events.Move) and event.into in wanted:
            wanted.add(event.heap)
        elif event.heap in wanted and isinstance(event, events.Move):
            event = events.Taking(event.day, event.heap, event.share)
        elif event.heap not in wanted:
            continue
        kept.append(event)
    return kept[::-1]


def _touches(event: events.Event) -> set[int]:
    return {event.heap, event.into} if isinstance(event, events.Move) else {event.heap}


def _placed(event: events.Event, place: Mapping[int, int], since: int) -> events.Event:
    if isinstance(event, events.Move):
        return replace(event, day=event.day - since, heap=place[event.heap], into=place[event.into])
    return replace(event, day=event.day - since, heap=place[event.heap])


def _earlier(record: Record, by: int) -> Record:
    return replace(
        record,
        warmths=tuple(replace(one, day=one.day - by) for one in record.warmths),
        fills=tuple(replace(one, day=one.day - by) for one in record.fills),
        not_ready=None if record.not_ready is None else record.not_ready - by,
    )


def _record(lies: _Lying, begins: int) -> Record:
    """Days are ordinals still, and come to count from the first."""
    return _earlier(Record(lies.tipped_l, lies.warmths, lies.fills, lies.not_ready, lies.look), begins)


def _feed(site: _Site, entry: Entry, bay: str, day: int) -> None:
    content = content_of(entry, site.materials)
    row = site.rows[bay]
    parts = {
        key: Part(site.materials[key.partition("/")[0]], load.wet_g / 1000, load.volume_ml / 1000)
        for key, load in content.items()
    }
    if isinstance(entry.what, kinds.Opening):
        site.happened.append(events.Opening(day, row, tuple(parts.values()), entry.what.age_days))
    else:
        site.happened += [events.Deposit(day, row, part, key.endswith("/weighed")) for key, part in parts.items()]
    lies = site.lying.get(bay, _Lying(day))
    litres = sum(part.volume_l for part in parts.values())
    site.lying[bay] = replace(lies, tipped_l=lies.tipped_l + litres, fed=day, not_ready=None, look=None)


def _turn(site: _Site, entry: Entry, bay: str, day: int) -> None:
    shares = [share for share in cast(kinds.Turn, entry.what).sources if share.bay in site.lying]
    if shares and all(share.bay == bay for share in shares):
        site.happened.append(events.Turn(day, site.rows[bay]))
    for share in shares:
        if share.bay != bay:
            _move(site, share.bay, bay, share.per_cent, day)


def _move(site: _Site, giver: str, taker: str, per_cent: int, day: int) -> None:
    site.happened.append(events.Move(day, site.rows[giver], site.rows[taker], per_cent / 100))
    gives = site.lying[giver]
    moved_l = gives.tipped_l * per_cent / 100
    # What was read of either says nothing of both together; nor does a mark on another wall.
    if takes := site.lying.get(taker):
        site.lying[taker] = _Lying(min(gives.began, takes.began), takes.tipped_l + moved_l, fed=day)
    else:
        site.lying[taker] = replace(gives, tipped_l=moved_l, warmths=(), fills=())
    _lessen(site, giver, per_cent)


def _lessen(site: _Site, bay: str, per_cent: int) -> None:
    """Less of it, by hand: marks on the wall from before say nothing any more."""
    lies = site.lying[bay]
    if per_cent == 100:
        del site.lying[bay]
    else:
        site.lying[bay] = replace(lies, tipped_l=lies.tipped_l * (1 - per_cent / 100), fills=())


def _harvest(site: _Site, entry: Entry, bay: str, day: int) -> None:
    per_cent = entry.what.per_cent if isinstance(entry.what, kinds.Harvest) else 100
    if bay in site.lying:
        site.happened.append(events.Taking(day, site.rows[bay], per_cent / 100))
        _lessen(site, bay, per_cent)


def _water(site: _Site, entry: Entry, bay: str, day: int) -> None:
    if bay in site.lying:
        site.happened.append(events.Watering(day, site.rows[bay], cast(kinds.Water, entry.what).volume_ml / 1000))


def _cover(site: _Site, entry: Entry, bay: str, day: int) -> None:
    site.happened.append(events.Covering(day, site.rows[bay], cast(kinds.Cover, entry.what).way == "on"))


def _reading(site: _Site, entry: Entry, bay: str, day: int) -> None:
    """A core of a heap, if no other place was named, and a mark on the wall."""
    what = cast(kinds.Reading, entry.what)
    if not (lies := site.lying.get(bay)):
        return
    if what.temp_tenths_c is not None and what.place in (None, "core"):
        air_c = None if what.air_tenths_c is None else what.air_tenths_c / 10
        warmth = Warmth(day, what.temp_tenths_c / 10, air_c, what.probe or "")
        lies = replace(lies, warmths=(*lies.warmths, warmth))
    if what.fill_per_cent is not None:
        lies = replace(lies, fills=(*lies.fills, Fill(day, what.fill_per_cent / 100)))
    site.lying[bay] = lies


def _verdict(site: _Site, entry: Entry, bay: str, day: int) -> None:
    if not (lies := site.lying.get(bay)):
        return
    said = cast(kinds.Verdict, entry.what)
    rests = day - (lies.began if lies.fed is None else lies.fed)
    look = TOLD_APART.get(said.look or "") if LOOK_FROM_DAYS <= rests <= LOOK_UNTIL_DAYS else None
    site.lying[bay] = replace(lies, not_ready=None if said.ready == "ready" else day, look=look or lies.look)


_TELLS: dict[type, Callable[[_Site, Entry, str, int], None]] = {
    kinds.Opening: _feed,
    kinds.Dropoff: _feed,
    kinds.Turn: _turn,
    kinds.Harvest: _harvest,
    kinds.TipOut: _harvest,
    kinds.Water: _water,
    kinds.Cover: _cover,
    kinds.Reading: _reading,
    kinds.Verdict: _verdict,
}
