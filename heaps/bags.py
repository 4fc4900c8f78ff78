"""Bags of compost: how many stand in store, which batches they came from, and what a label says of one."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q
from django.utils.translation import gettext as _

from heaps import history, ledger
from heaps.ledger.bags import Bags, bags_in_store
from heaps.ledger.kinds import Collection, Harvest, Spread, Stocktake
from heaps.models import Bay, Entry, Site, known_materials
from heaps.science.diagnosis import DUNG_AND_STRAW
from heaps.science.materials import Materials

KINDS = (Harvest, Collection, Spread, Stocktake)
LATEST = 6  # batches a site: older bags are used up (use within a year, from memory, high)
#: What a label names by itself; the rest is "and others".
NAMED = 8


@dataclass(frozen=True)
class Made:
    """One harvest with bags."""

    uid: str
    bay: str
    day: date
    half_bags: int
    sieved: str


@dataclass(frozen=True)
class Store:
    """The bags at one site, by size, and the latest harvests."""

    site: Site
    sizes: tuple[Bags, ...]
    made: tuple[Made, ...]


@dataclass(frozen=True)
class Label:
    """What stands on a bag: where and when it was taken out, what went in and since when, and what to mind."""

    site: Site
    bay: Bay
    day: date
    sieved: str
    litres: int
    began: date | None
    last_load: date | None
    materials: tuple[str, ...]
    others: int
    guessed: bool
    ready: bool
    dung_hay_straw: bool


def stores() -> list[Store]:
    """Every site, also one where no bags were made or counted yet."""
    found = []
    for site in Site.objects.order_by("name"):
        entries = history.standing(site.pk, None, Q(kind__in=[kind.kind for kind in KINDS]))
        names = {str(uid): name for uid, name in site.bays.values_list("uid", "name")}
        sizes = tuple(one for _size, one in sorted(bags_in_store(entries).items()))
        found.append(Store(site, sizes, tuple(_made(entries, site, names))[:LATEST]))
    return found


def label_of(row: Entry) -> Label | None:
    """The label of a harvest's bags, as corrected; None of anything else, or of one that was taken back."""
    found = history.as_they_stand([row])
    if not found:
        return None
    entry, what = found[0], found[0].what
    if not isinstance(what, Harvest):
        return None
    site = row.site
    materials = known_materials()
    batch = history.before(site.pk, entry, materials).batch
    keys = _heaviest_first(batch, materials) if batch else []
    return Label(
        site=site,
        bay=Bay.objects.get(uid=entry.bay or ""),
        day=site.day_of(entry.at),
        sieved=what.sieved,
        litres=what.bag_ml // 1000,
        began=site.day_of(min([batch.began, *(one.began for one in batch.ancestors.values())])) if batch else None,
        last_load=site.day_of(batch.fed_at) if batch and batch.fed_at else None,
        materials=tuple(_(materials[key].short) for key in keys[:NAMED]),
        others=max(0, len(keys) - NAMED),
        guessed=bool(batch and batch.guessed),
        ready=bool(batch and batch.ready_at),
        dung_hay_straw=any(key.startswith(DUNG_AND_STRAW) for key in keys),
    )


def _made(entries: Iterable[ledger.Entry], site: Site, names: dict[str, str]) -> Iterable[Made]:
    """The harvests with bags, the latest first."""
    for entry in sorted(entries, key=lambda one: one.key, reverse=True):
        if isinstance(entry.what, Harvest) and entry.what.half_bags:
            bay = names.get(entry.bay or "", "?")
            yield Made(entry.uid, bay, site.day_of(entry.at), entry.what.half_bags, entry.what.sieved)


def _heaviest_first(batch: ledger.Batch, materials: Materials) -> list[str]:
    grams: dict[str, int] = {}
    for key, load in batch.content.items():
        name = key.partition("/")[0]
        grams[name] = grams.get(name, 0) + load.wet_g
    return sorted(grams, key=lambda key: (-grams[key], key))
