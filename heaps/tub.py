"""The soaking tub of each site: what is in, what may come out when, and what never goes in."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import cast

from django.db.models import Q
from django.utils.translation import gettext as _

from heaps import history
from heaps.ledger.kinds import Soak
from heaps.ledger.tub import Soaking, soaking
from heaps.models import Site, known_materials
from heaps.science.soaking import NEVER_IN_THE_TUB, WEEDS, Release, Weed, release


@dataclass(frozen=True)
class Batch:
    """One kind of weed that went in on one day, and when to look. `may_come_out`: the first day to look is here."""

    weed: str
    volume_ml: int
    since: date
    rule: Weed
    release: Release
    may_come_out: bool


@dataclass(frozen=True)
class Tub:
    """One site's tub: what went in, the next to come out first."""

    site: Site
    batches: tuple[Batch, ...]

    @property
    def due(self) -> tuple[Batch, ...]:
        """What may be looked at today."""
        return tuple(one for one in self.batches if one.may_come_out)


def tubs(now: datetime) -> list[Tub]:
    """Every site's tub, also an empty one."""
    return [tub_of(site, now) for site in Site.objects.order_by("name")]


def tub_of(site: Site, now: datetime) -> Tub:
    """What soaks at one site."""
    lying = soaking(history.standing(site.pk, None, Q(kind=Soak.kind)))
    batches = (_batch(one, site, site.day_of(now)) for one in lying)
    return Tub(site, tuple(sorted(batches, key=lambda one: (one.release.first, one.since, one.weed))))


def never_in_the_tub() -> list[tuple[str, str]]:
    """What never goes in, and what to do instead."""
    materials = known_materials()
    return [(_(materials[key].short), _(materials[key].instead)) for key in NEVER_IN_THE_TUB]


def _batch(one: Soaking, site: Site, today: date) -> Batch:
    since = site.day_of(one.since)
    when = cast(Release, release([one.weed], since))  # one weed is no empty tub
    return Batch(one.weed, one.volume_ml, since, WEEDS[one.weed], when, when.first <= today)
