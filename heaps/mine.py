"""What one person brought, and what became of it: where it lies now, and the bags that came out of those heaps."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from heaps import history, ledger
from heaps.ledger.amounts import RETURNED
from heaps.ledger.contents import tipped
from heaps.ledger.kinds import Dropoff, Hours
from heaps.models import Bay, Entry, Site, known_materials
from heaps.tracing import follow
from members.models import Member

AT_ONCE = 1_000


@dataclass(frozen=True)
class Brought:
    """All loads of one material. What was weighed and what is estimated stay apart."""

    material: str
    loads: int = 0
    weighed_g: int = 0
    estimated_g: int = 0


@dataclass(frozen=True)
class LiesIn:
    """A heap that some of the loads have gone into, by turns or at once."""

    bay_uid: str
    bay: str
    site: str
    stage: str
    since: date
    loads: int


@dataclass(frozen=True)
class Mine:
    """All that somebody's own page tells."""

    brought: tuple[Brought, ...]
    lies_in: tuple[LiesIn, ...]
    half_bags: int
    harvests: int
    minutes: int


def mine(person: Member, now: datetime) -> Mine:
    """What `person` recorded as it stands by now, and what became of it."""
    own = {site: list(_own_entries(person, site)) for site in Site.objects.all()}
    entries = [entry for found in own.values() for entry in found]
    followed = {site: follow(site, [one for one in found if _is_load(one)]) for site, found in own.items()}
    return Mine(
        brought=_brought(entry for entry in entries if _is_load(entry)),
        lies_in=tuple(heap for site, one in followed.items() for heap in _lies_in(site, one.lying, now)),
        half_bags=sum(one.half_bags for one in followed.values()),
        harvests=sum(len(one.harvests) for one in followed.values()),
        minutes=sum(one.what.minutes * one.what.people for one in entries if isinstance(one.what, Hours)),
    )


def _own_entries(person: Member, site: Site) -> Iterator[ledger.Entry]:
    """Loads and hours that somebody recorded at a site, as corrected."""
    own = Entry.objects.filter(person=person, site=site, kind__in=(Dropoff.kind, Hours.kind)).select_related("bay")
    for rows in _in_parts(own):
        yield from history.as_they_stand(rows)


def _in_parts(rows: QuerySet[Entry]) -> Iterator[list[Entry]]:
    last = 0
    while part := list(rows.filter(pk__gt=last).order_by("pk")[:AT_ONCE]):
        yield part
        last = part[-1].pk


def _is_load(entry: ledger.Entry) -> bool:
    """Whether something was brought. What comes back from the sieve was brought before."""
    return isinstance(entry.what, Dropoff) and entry.what.feedstock != RETURNED


def _brought(loads: Iterable[ledger.Entry]) -> tuple[Brought, ...]:
    """The loads by material, the heaviest first."""
    materials = known_materials()
    sums: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for entry in loads:
        if isinstance(what := entry.what, Dropoff):
            basis, load = tipped(what, entry.at, materials)
            of = sums[what.feedstock]
            of["loads"] += 1
            of[f"{basis}_g"] += load.wet_g
    found = [Brought(_(materials[key].short), **of) for key, of in sums.items()]
    return tuple(sorted(found, key=lambda one: (-one.weighed_g - one.estimated_g, one.material)))


def _lies_in(site: Site, lying: dict[str, set[str]], now: datetime) -> Iterator[LiesIn]:
    states = history.current_states([site.pk])
    for bay in Bay.objects.filter(site=site):
        uid = str(bay.uid)
        state = states.get(uid, ledger.BayState())
        if lying.get(uid) and state.batch:
            since = site.day_of(state.batch.began)
            yield LiesIn(uid, bay.name, site.name, str(ledger.stage(state, now)), since, len(lying[uid]))
