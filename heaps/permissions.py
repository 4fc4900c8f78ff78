"""Whether a site's papers are in date, and what lies there against the caps that somebody typed. Certifies nothing."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from heaps.ledger import Load, from_plain
from heaps.models import Cap, Papers, Site, known_materials
from heaps.science.materials import Materials

SOON = timedelta(days=60)


@dataclass(frozen=True)
class Paper:
    """One paper of a site: what it is, what was typed, and its last day."""

    title: str
    words: str
    until: date | None
    today: date

    @property
    def is_over(self) -> bool:
        return self.until is not None and self.until < self.today

    @property
    def is_due(self) -> bool:
        """Over, or over within 60 days."""
        return self.until is not None and self.until <= self.today + SOON


@dataclass(frozen=True)
class Against:
    """What lies at a site of one thing, beside the most of it: kilograms or litres, both as tipped."""

    cap: Cap
    material: str
    there: int

    @property
    def is_over(self) -> bool:
        return self.there > self.cap.most

    @property
    def per_cent(self) -> int:
        """Rounded up, so that 100 is reached by whoever is over, never by whoever is below."""
        return -(-100 * self.there // self.cap.most)


@dataclass(frozen=True)
class Held:
    """A site's papers, and what lies there: all of it in whole kilograms and litres, as beside its caps."""

    site: Site
    papers: tuple[Paper, ...]
    caps: tuple[Against, ...]
    all_there: Load


def held(sites: Iterable[Site], now: datetime) -> list[Held]:
    """Each site's papers and stock."""
    materials = known_materials()
    return [_of(site, now, materials) for site in sites]


def due(sites: Iterable[Site], now: datetime) -> list[tuple[Site, Paper]]:
    """What runs out within 60 days or has run out, the most pressing first."""
    found = [(site, paper) for site in sites for paper in papers_of(site, site.day_of(now)) if paper.is_due]
    return sorted(found, key=lambda one: (one[1].until or date.max, one[0].name))


def papers_of(site: Site, today: date) -> tuple[Paper, ...]:
    """The three papers of a site; empty ones, too."""
    typed = getattr(site, "papers", None) or Papers(site=site)
    return (
        Paper(_("Exemption or permit"), typed.permit, typed.permit_until, today),
        Paper(_("Insurance"), typed.insurance, typed.insurance_until, today),
        Paper(_("Landowner's consent"), typed.consent, typed.consent_until, today),
    )


def lying_at(site: Site) -> dict[str, Load]:
    """By feedstock, what lies in the site's bays as it was tipped: nothing is thought to have rotted or dried."""
    found: dict[str, Load] = {}
    for bay in site.bays.all():
        stored = getattr(bay, "stored", None)
        batch = from_plain(stored.state).batch if stored else None
        for key, load in (batch.content if batch else {}).items():
            feedstock = key.partition("/")[0]
            found[feedstock] = found.get(feedstock, Load(0, 0)) + load
    return found


def _of(site: Site, now: datetime, materials: Materials) -> Held:
    there = lying_at(site)
    everything = sum(there.values(), Load(0, 0))
    caps = tuple(
        _against(cap, there.get(cap.feedstock, Load(0, 0)) if cap.feedstock else everything, materials)
        for cap in site.caps.all()
    )
    in_whole = Load(*(1000 * _thousands_up(part) for part in everything))
    return Held(site, papers_of(site, site.day_of(now)), caps, in_whole)


def _against(cap: Cap, load: Load, materials: Materials) -> Against:
    known = materials.get(cap.feedstock)
    material = _(known.short) if known else cap.feedstock or _("Everything together")
    there = load.wet_g if cap.unit == Cap.Unit.KG else load.volume_ml
    return Against(cap, material, _thousands_up(there))


def _thousands_up(number: int) -> int:
    """Grams as kilograms, millilitres as litres: rounded up, so that nobody who is over a cap is told otherwise."""
    return -(-number // 1000)
