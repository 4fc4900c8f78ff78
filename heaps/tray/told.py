"""Entries as somebody reads them who was not there: what, where, when, by whom."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.utils.translation import gettext as _

from heaps import history, ledger, wire
from heaps.ledger.kinds import Dropoff
from heaps.models import Bay, Entry, Site, known_materials
from heaps.science.materials import Materials
from heaps.tray.said import Names, said
from members.models import Member

#: So far apart two moments of one entry are one and the same to whoever reads it: clocks differ.
A_FEW_MINUTES = timedelta(minutes=10)
#: What every clock on the ground can show: the calendar less a day at either end.
SHOWN = (datetime.min.replace(tzinfo=UTC) + timedelta(days=1), datetime.max.replace(tzinfo=UTC) - timedelta(days=1))


@dataclass(frozen=True)
class Told:
    """An entry in words as it counts by now: what, where, when, by whom. `at` is None when nobody knows.

    `before` and `before_at` are what a correction changed of it, as first recorded. `claimed_at` is when the phone, or
    who typed a date in (`by_hand`), said that it happened, where it counts from another moment.
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
    claimed_at: datetime | None = None
    by_hand: bool = False

    @property
    def counts_from_arrival(self) -> bool:
        """Whether it would have happened after it came, so that its arrival stands for its moment."""
        return self.at == self.received_at


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
        before_at=known(first.at) if _far_apart(first.at, now.at) else None,
        claimed_at=claimed(row.occurred_at, now.at) if now.at == first.at else None,
        by_hand=row.by_hand,
    )


def claimed(occurred_at: datetime, at: datetime) -> datetime | None:
    """What was said of when it happened, unless it counts from then, or no site's clock shows it."""
    return occurred_at if _far_apart(occurred_at, at) and SHOWN[0] < occurred_at < SHOWN[1] else None


def _far_apart(one: datetime, other: datetime) -> bool:
    return abs(one - other) > A_FEW_MINUTES


def known(moment: datetime) -> datetime | None:
    """A moment, unless it only stands for an absurd one."""
    return moment if moment > wire.OLDEST else None


def name_of(person: Member | None) -> str:
    """What somebody is called, also after they have left."""
    return person.name if person else _("somebody whose name is not kept")
