"""Entries as somebody reads them who was not there: what, where, when, by whom."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from heaps import wire
from heaps.ledger.kinds import Dropoff
from heaps.models import Bay, Entry, Site, known_materials
from heaps.science.materials import Materials
from heaps.tray.said import Names, said
from members.models import Member


@dataclass(frozen=True)
class Told:
    """An entry in words: what, where, when, by whom. `at` is None when nobody knows."""

    uid: str
    what: str
    site: str
    time_zone: str
    at: datetime | None
    received_at: datetime
    person: str
    words: str
    is_load: bool = False


@dataclass(frozen=True)
class Ground:
    """Every site and bay by its number, and every material by its key."""

    sites: Mapping[str, Site]
    bays: Mapping[str, Bay]
    materials: Materials

    @classmethod
    def seen(cls) -> "Ground":
        """As it is now, in three questions to the database."""
        bays = Bay.objects.select_related("site")
        sites = {str(one.uid): one for one in Site.objects.all()}
        return cls(sites, {str(one.uid): one for one in bays}, known_materials())

    @property
    def names(self) -> Names:
        """What the bays and materials are called."""
        return Names({uid: bay.name for uid, bay in self.bays.items()}, self.materials)


def tell(rows: Sequence[Entry], ground: Ground) -> dict[str, Told]:
    """Rows of the ledger in words, by uid: one question to the database, however many there are."""
    corrections = Entry.objects.filter(corrects__in=[row.uid for row in rows], details__says="instead")
    corrected = set(corrections.values_list("corrects", "site_id"))
    return {str(row.uid): _told(row, ground, (row.uid, row.site_id) in corrected) for row in rows}


def _told(row: Entry, ground: Ground, corrected: bool) -> Told:
    what, _details = wire.read_details(row.kind, row.details)
    since = f" {_('(corrected since)')}" if corrected else ""
    return Told(
        uid=str(row.uid),
        what=said(what, str(row.bay.uid) if row.bay else None, ground.names) + since,
        site=row.site.name,
        time_zone=row.site.time_zone,
        at=known(row.effective_at),
        received_at=row.received_at,
        person=name_of(row.person),
        words=row.words,
        is_load=row.kind == Dropoff.kind,
    )


def known(moment: datetime) -> datetime | None:
    """A moment, unless it only stands for an absurd one."""
    return moment if moment > wire.OLDEST else None


def name_of(person: Member | None) -> str:
    """What somebody is called, also after they have left."""
    return person.name if person else _("somebody whose name is not kept")
