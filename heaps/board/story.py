"""The story of one heap: where it came from, what went in, and why each number is what it is."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.utils.translation import gettext as _

from heaps import history, ledger
from heaps.board.bay import BayFacts
from heaps.board.board import facts_of, used_at
from heaps.board.drawing import Section, before_last_turn, section_of, spots_of
from heaps.board.figures import BayNow, shown
from heaps.board.happened import line_of
from heaps.board.warmth import Chart, chart_of
from heaps.foretold import Foretold, foretold_of
from heaps.ledger.amounts import RETURNED
from heaps.ledger.contents import tipped
from heaps.ledger.heap import Batch
from heaps.ledger.kinds import Dropoff, Reading, Turn
from heaps.lineage import entries_of
from heaps.models import Bay, known_materials
from heaps.science.blend import Mix, Part, blend
from heaps.science.feedstocks import Feedstock, Source, cited
from heaps.science.materials import Materials
from heaps.sums import mix_of

LAST_READINGS = 30
#: How many heaps back a lineage is told. A bay that is never quite emptied has one without end.
GENERATIONS = 12


@dataclass(frozen=True)
class CameFrom:
    """One earlier heap and those it came from in turn; `again` if it stands further up already.

    `older` says that it came from heaps that are too far back to be told.
    """

    bay: str
    began: date
    ended: date
    parents: "tuple[CameFrom, ...]"
    again: bool
    older: bool


@dataclass(frozen=True)
class DayLoad:
    """What came in of one material on one day."""

    material: str
    basis: str
    loads: int
    wet_g: int
    volume_ml: int
    returned: bool
    uids: tuple[str, ...]


@dataclass(frozen=True)
class Seen:
    """One reading."""

    day: date
    bay: str
    reading: Reading


@dataclass(frozen=True)
class Turned:
    """One turn: out of which bays and how much of each, into which."""

    day: date
    sources: tuple[tuple[str, int], ...]
    into: str
    within: bool


@dataclass(frozen=True)
class Happened:
    """What else happened, in plain words."""

    day: date
    bay: str
    line: str


@dataclass(frozen=True)
class WhyRow:
    """What one material adds to the sums, and the figures that say so."""

    feedstock: Feedstock
    basis: str
    wet_g: int
    volume_ml: int
    adds: Mix


@dataclass(frozen=True)
class Story:
    """All that a heap's own page tells."""

    now: BayNow
    state: ledger.BayState
    entries: tuple[ledger.Entry, ...]
    ahead: Foretold | None
    section: Section
    before: tuple[tuple[BayFacts, Section], ...]
    chart: Chart | None
    came_from: tuple[CameFrom, ...]
    days: tuple[tuple[date, tuple[DayLoad, ...]], ...]
    readings: tuple[Seen, ...]
    more_readings: int
    turns: tuple[Turned, ...]
    happened: tuple[Happened, ...]
    why: tuple[WhyRow, ...]
    materials: tuple[Feedstock, ...]
    water_ml: int
    total: Mix
    sources: tuple[Source, ...]


def story_of(bay: Bay, now: datetime) -> Story:
    """Everything about what lies in `bay`. `bay.site` must have been fetched."""
    materials = known_materials()
    state = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState())
    facts = facts_of(bay)
    bays = {str(one.uid): facts_of(one) for one in Bay.objects.filter(site=bay.site_id).select_related("site")}
    names = {uid: one.name for uid, one in bays.items()}
    batch = state.batch
    entries = entries_of(bay.site_id, batch)
    readings = _readings(entries, names, facts)
    why = _why(batch, materials) if batch else ()
    ahead = foretold_of(bay.pk, batch)
    still = ahead.still if ahead else None
    shown_now = shown(facts, state, used_at(bay.site, materials).brown, now, materials, still)
    fill = shown_now.fill.per_cent if shown_now.fill else None
    section = section_of(facts, batch.layers if batch else (), fill, materials)
    return Story(
        now=shown_now,
        state=state,
        entries=tuple(entries),
        ahead=ahead,
        section=replace(section, spots=spots_of(section, entries)),
        before=before_last_turn(batch, bays, materials),
        chart=chart_of(entries, facts, facts.day_of(now)),
        came_from=_came_from(batch, names, facts) if batch else (),
        days=_by_day(entries, facts, materials),
        readings=tuple(reversed(readings[-LAST_READINGS:])),
        more_readings=max(0, len(readings) - LAST_READINGS),
        turns=tuple(_turned(one, names, facts) for one in entries if isinstance(one.what, Turn)),
        happened=_happened(entries, names, facts, materials),
        why=why,
        materials=tuple({row.feedstock.key: row.feedstock for row in why}.values()),
        water_ml=batch.water_ml if batch else 0,
        total=mix_of(batch.content, materials, batch.water_ml) if batch else Mix(),
        sources=_sources(why),
    )


def _readings(entries: Iterable[ledger.Entry], names: dict[str, str], facts: BayFacts) -> list[Seen]:
    return [
        Seen(facts.day_of(one.at), names[one.bay or ""], one.what) for one in entries if isinstance(one.what, Reading)
    ]


def _happened(
    entries: Iterable[ledger.Entry], names: dict[str, str], facts: BayFacts, materials: Materials
) -> tuple[Happened, ...]:
    """Everything that has no place of its own, the latest first."""
    told = ((entry, line_of(entry.what, materials)) for entry in entries)
    found = [Happened(facts.day_of(entry.at), names[entry.bay or ""], line) for entry, line in told if line]
    return tuple(reversed(found))


def _came_from(batch: Batch, names: dict[str, str], facts: BayFacts) -> tuple[CameFrom, ...]:
    """The heaps this one was turned together from. One that was split and met again is told once."""
    told: set[str] = set()

    def one(uid: str, generation: int) -> CameFrom:
        ancestor = batch.ancestors[uid]
        again = uid in told
        older = not again and generation == GENERATIONS and bool(ancestor.parents)
        told.add(uid)
        return CameFrom(
            bay=names[ancestor.bay],
            began=facts.day_of(ancestor.began),
            ended=facts.day_of(ancestor.ended),
            parents=() if again or older else tuple(one(parent, generation + 1) for parent in ancestor.parents),
            again=again,
            older=older,
        )

    return tuple(one(uid, 1) for uid in batch.parents)


def _by_day(
    entries: Iterable[ledger.Entry], facts: BayFacts, materials: Materials
) -> tuple[tuple[date, tuple[DayLoad, ...]], ...]:
    """The loads summed by day, material and basis, the latest day first."""
    days: dict[date, dict[tuple[str, str], tuple[tuple[str, ...], ledger.Load]]] = {}
    for entry in entries:
        if isinstance(entry.what, Dropoff):
            basis, load = tipped(entry.what, entry.at, materials)
            sums, key = days.setdefault(facts.day_of(entry.at), {}), (entry.what.feedstock, basis)
            uids, summed = sums.get(key, ((), ledger.Load(0, 0)))
            sums[key] = ((*uids, entry.uid), summed + load)
    return tuple(
        (on, tuple(_day_load(key, *found, materials) for key, found in days[on].items())) for on in sorted(days)[::-1]
    )


def _day_load(key: tuple[str, str], uids: tuple[str, ...], load: ledger.Load, materials: Materials) -> DayLoad:
    feedstock, basis = key
    return DayLoad(
        material=_(materials[feedstock].short),
        basis=basis,
        loads=len(uids),
        wet_g=load.wet_g,
        volume_ml=load.volume_ml,
        returned=feedstock == RETURNED,
        uids=uids,
    )


def _turned(entry: ledger.Entry, names: dict[str, str], facts: BayFacts) -> Turned:
    shares = entry.what.sources if isinstance(entry.what, Turn) else ()
    return Turned(
        day=facts.day_of(entry.at),
        sources=tuple((names.get(share.bay, "?"), share.per_cent) for share in shares),
        into=names[entry.bay or ""],
        within={share.bay for share in shares} == {entry.bay},
    )


def _why(batch: Batch, materials: Materials) -> tuple[WhyRow, ...]:
    """One row for each material and basis, the heaviest first."""
    rows = []
    for key, load in batch.content.items():
        name, basis = key.split("/")
        stuff = materials[name]
        adds = blend([Part(stuff, load.wet_g / 1000, load.volume_ml / 1000)])
        rows.append(WhyRow(stuff, basis, load.wet_g, load.volume_ml, adds))
    return tuple(sorted(rows, key=lambda row: (-row.wet_g, row.feedstock.key, row.basis)))


def _sources(rows: Iterable[WhyRow]) -> tuple[Source, ...]:
    """The published sources that the figures in these rows name, each once."""
    found: dict[str, Source] = {}
    for row in rows:
        stuff = row.feedstock
        for value in (stuff.moisture_fraction, stuff.nitrogen_fraction_dry, stuff.c_to_n, stuff.bulk_density_kg_m3):
            if value:
                found |= {source.id: source for source in cited((value.published or value).source)}
    return tuple(found[uid] for uid in sorted(found))
