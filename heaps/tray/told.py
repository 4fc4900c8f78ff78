"""Entries as somebody reads them who was not there: what, where, when, by whom."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from heaps import history, ledger, wire
from heaps.ledger.kinds import Dropoff
from heaps.models import Bay, Entry, Site, known_materials
from heaps.science.materials import Materials
from heaps.tray.said import Names, said
from members.models import Member

#: So far apart two moments of one entry are one and the same to whoever reads it: clocks differ.
A_FEW_MINUTES = timedelta(minutes=10)


@dataclass(frozen=True)
class Told:
    """An entry in words as it counts by now: what, where, when, by whom. `at` is None when nobody knows.

    `before` and `before_at` are what a correction changed of it, as first recorded.
    """

    uid: str
    what: str
    site: str
    time_zone: str
    at: datetime | None
    received_at: datetime
    person: str
    words: str
    is_load: bool = False
    before: str = ""
    before_at: datetime | None = None


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
    standing = history.as_they_stand([row for row in rows if row.corrects is None])
    by_now = {entry.uid: entry for entry in standing}
    return {str(row.uid): _told(row, by_now.get(str(row.uid)), ground) for row in rows}


def _told(row: Entry, by_now: ledger.Entry | None, ground: Ground) -> Told:
    """A row in words; what is withdrawn, or a correction, as it was recorded."""
    first = history.entry_of(row)
    now = by_now or first
    recorded, what = (said(one.what, one.bay, ground.names) for one in (first, now))
    return Told(
        uid=str(row.uid),
        what=what,
        site=row.site.name,
        time_zone=row.site.time_zone,
        at=known(now.at),
        received_at=row.received_at,
        person=name_of(row.person),
        words=row.words,
        is_load=row.kind == Dropoff.kind,
        before=recorded if recorded != what else "",
        before_at=known(first.at) if abs(first.at - now.at) > A_FEW_MINUTES else None,
    )


def known(moment: datetime) -> datetime | None:
    """A moment, unless it only stands for an absurd one."""
    return moment if moment > wire.OLDEST else None


def name_of(person: Member | None) -> str:
    """What somebody is called, also after they have left."""
    return person.name if person else _("somebody whose name is not kept")
