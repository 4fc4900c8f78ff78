"""Where one load went: the bays and heaps it lay in, the bags that came out of them, and who fetched bags since."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q
from django.utils.translation import gettext as _

from heaps import history, ledger
from heaps.ledger.contents import tipped
from heaps.ledger.kinds import Collection, Dropoff, Harvest, TipOut, Turn
from heaps.models import Bay, BeanTest, Donor, Entry, Site, known_materials
from heaps.tracing import Stay, follow


@dataclass(frozen=True)
class Load:
    """The load itself, as corrected."""

    material: str
    volume_ml: int
    wet_g: int
    basis: str
    bay: str
    day: date


@dataclass(frozen=True)
class Lay:
    """A time in one bay; `ended` is None while it lies there. `onward` says where the bay's content went then."""

    bay_uid: str
    bay: str
    began: date
    by_turn: bool
    ended: date | None
    onward: str


@dataclass(frozen=True)
class TakenOut:
    """Bags taken out of a heap with some of the load in it."""

    day: date
    bay: str
    half_bags: int
    per_cent: int
    sieved: str


@dataclass(frozen=True)
class Fetched:
    """Bags that somebody fetched after the first of those came out."""

    day: date
    half_bags: int
    person: str


@dataclass(frozen=True)
class LiesIn:
    """A heap that holds some of the load today."""

    bay_uid: str
    bay: str
    stage: str
    since: date


@dataclass(frozen=True)
class Whereabouts:
    """All that a load's own page tells. `load` is None once it has been taken back."""

    load: Load | None
    lays: tuple[Lay, ...]
    taken_out: tuple[TakenOut, ...]
    fetched: tuple[Fetched, ...]
    lies_in: tuple[LiesIn, ...]

    @property
    def first_bags(self) -> date | None:
        """Since when bags may have had some of it in them."""
        return self.taken_out[0].day if self.taken_out else None


def whereabouts(row: Entry, now: datetime) -> Whereabouts:
    """Where the load of `row` went. `row.site` and `row.bay` must have been fetched."""
    loads = history.as_they_stand([row])
    if not loads:
        return Whereabouts(None, (), (), (), ())
    site = row.site
    names = {str(uid): name for uid, name in Bay.objects.filter(site=site).values_list("uid", "name")}
    found = follow(site, loads)
    first = found.harvests[0].at if found.harvests else None
    return Whereabouts(
        load=_load(loads[0], names, site),
        lays=tuple(_lay(stay, names, site) for stay in found.stays),
        taken_out=tuple(
            _taken_out(one, one.what, names, site) for one in found.harvests if isinstance(one.what, Harvest)
        ),
        fetched=tuple(_fetched(site, first)) if first else (),
        lies_in=tuple(_lies_in(site, {bay for bay, lying in found.lying.items() if lying}, now)),
    )


def may_give(site: Site) -> list[Donor]:
    """Who may have given a load at a site, whether or not they still give."""
    return list(
        Donor.objects.filter(Q(site=None) | Q(site=site)).exclude(~Q(kind=Donor.Kind.HOUSEHOLDS), organisation="")
    )


def bean_tests_of(bay: Bay) -> list[BeanTest]:
    """The bean tests of loads that lie in a bay by now."""
    tests = list(BeanTest.objects.filter(entry__site=bay.site_id).select_related("entry__bay", "entry__donor"))
    rows = {test.entry_id: test.entry for test in tests}
    lying = follow(bay.site, history.as_they_stand(list(rows.values()))).lying[str(bay.uid)] if rows else set()
    return [test for test in tests if str(test.entry.uid) in lying]


def _load(entry: ledger.Entry, names: dict[str, str], site: Site) -> Load | None:
    if not isinstance(entry.what, Dropoff):
        return None
    materials = known_materials()
    basis, load = tipped(entry.what, entry.at, materials)
    bay = names[entry.bay or ""]
    return Load(_(materials[entry.what.feedstock].short), load.volume_ml, load.wet_g, basis, bay, site.day_of(entry.at))


def _lay(stay: Stay, names: dict[str, str], site: Site) -> Lay:
    return Lay(
        bay_uid=stay.bay,
        bay=names[stay.bay],
        began=site.day_of(stay.began.at),
        by_turn=isinstance(stay.began.what, Turn),
        ended=site.day_of(stay.ended.at) if stay.ended else None,
        onward=_onward(stay.ended, names),
    )


def _onward(ended: ledger.Entry | None, names: dict[str, str]) -> str:
    """What emptied the bay."""
    if ended is None:
        return ""
    if isinstance(ended.what, Turn):
        return _("turned into %(bay)s") % {"bay": names[ended.bay or ""]}
    return _("emptied, nothing harvested") if isinstance(ended.what, TipOut) else _("all harvested")


def _taken_out(entry: ledger.Entry, what: Harvest, names: dict[str, str], site: Site) -> TakenOut:
    return TakenOut(site.day_of(entry.at), names[entry.bay or ""], what.half_bags, what.per_cent, what.sieved)


def _fetched(site: Site, since: datetime) -> Iterable[Fetched]:
    """Every collection at the site since then: a bag does not say which heap it came from."""
    entries = history.standing(site.pk, since, Q(kind=Collection.kind))
    rows = Entry.objects.filter(uid__in=[one.uid for one in entries if isinstance(one.what, Collection)])
    people = {str(row.uid): row.person.name for row in rows.select_related("person") if row.person}
    for one in entries:
        if isinstance(one.what, Collection):
            nobody = _("somebody whose name is not kept")
            yield Fetched(site.day_of(one.at), one.what.half_bags, people.get(one.uid, nobody))


def _lies_in(site: Site, bays: set[str], now: datetime) -> Iterable[LiesIn]:
    states = history.current_states([site.pk])
    for bay in Bay.objects.filter(site=site, uid__in=bays):
        state = states.get(str(bay.uid), ledger.BayState())
        if state.batch:
            since = site.day_of(state.batch.began)
            yield LiesIn(str(bay.uid), bay.name, str(ledger.stage(state, now)), since)
