"""What a heap's temperature log shows of the published rules of heat: what is met, what is missing, what cannot be."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from heaps import history, ledger
from heaps.ledger.kinds import Reading, Turn
from heaps.lineage import alone_since, entries_of
from heaps.models import Bay, known_materials
from heaps.science import sanitation
from heaps.science.feedstocks import Feedstock
from heaps.science.sanitation import Outcome, Showing, Spell
from heaps.sums import mix_of

#: A reading without a place was taken where most are: in the core (common practice).
USUAL_PLACE = "core"


@dataclass(frozen=True)
class Heat:
    """What the log shows. `since`: before it there was fresh stuff to come, or it was several heaps.

    `never` are materials in it that no heat makes right.
    """

    since: datetime | None
    readings: int
    places: tuple[str, ...]
    met: tuple[Showing, ...]
    missing: tuple[Showing, ...]
    not_for_open_bay: tuple[Showing, ...]
    spells: tuple[Spell, ...]
    never: tuple[Feedstock, ...]


def heat_of(bay: Bay, now: datetime) -> Heat:
    """The log of what lies in `bay`. `bay.site` must have been fetched."""
    batch = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState()).batch
    entries = entries_of(bay.site_id, batch)
    since = _since(batch)
    log = list(_log(entries, since))
    turns = [one.at for one in entries if isinstance(one.what, Turn) and (since is None or one.at > since)]
    materials = known_materials()
    content = batch.content if batch else {}
    mix = mix_of(content, materials, batch.water_ml) if batch else None
    shown = sanitation.showings(log, turns, mix.c_to_n if mix else None)
    keys = dict.fromkeys(key.partition("/")[0] for key in content)
    return Heat(
        since=since,
        readings=len(log),
        places=tuple(dict.fromkeys(one.place for one in log)),
        met=tuple(one for one in shown if one.outcome is Outcome.MET),
        missing=tuple(one for one in shown if one.outcome is Outcome.MISSING),
        not_for_open_bay=tuple(one for one in shown if one.outcome is Outcome.NOT_FOR_OPEN_BAY),
        spells=tuple(sanitation.spells(log, turns, now)),
        never=tuple(sanitation.never_whatever_the_log(materials[key] for key in keys)),
    )


def _since(batch: ledger.Batch | None) -> datetime | None:
    """The last load, or the last time that heaps met: what came later was not there before."""
    return max(batch.fed_at or batch.began, alone_since(batch)) if batch else None


def _log(entries: Iterable[ledger.Entry], since: datetime | None) -> Iterable[sanitation.Reading]:
    for entry in entries:
        what = entry.what
        if isinstance(what, Reading) and what.temp_tenths_c is not None and (since is None or entry.at >= since):
            yield sanitation.Reading(entry.at, what.temp_tenths_c / 10, what.place or USUAL_PLACE)
