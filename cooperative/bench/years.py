"""The ledger of a cooperative after years: as many entries as asked for, written in bulk and replayed by the ledger.

For the empty database of this installation: `python3 manage.py migrate`, then
`python -c "import django; django.setup(); from cooperative.bench.years import fill; fill(1_000_000)"`.

Its shape: twenty sites of six bays, ten people at each, some thirteen entries a site and day. Most are loads into
the bay that is fed; the rest are readings, water, hours, bags fetched, a turn and a harvest every third week, and one
correction in a hundred. So 10,000 entries are its last five weeks, and a million are ten years.
"""

import math
import random
import uuid
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import islice
from operator import attrgetter
from typing import Any

from django.db import transaction
from django.utils import timezone

from heaps import history, wire
from heaps.ledger.kinds import Correction
from heaps.models import COLUMNS, Bay, Container, Entry, Site, known_materials, many
from heaps.sync import head, link
from members.models import Cooperative, Member

SITES, BAYS, AT_EACH = 20, 6, 10
FED = 3  # the bays that loads go into, in turns of three weeks; a turn takes them on to the others
ENTRIES_A_DAY = 13.04  # on average, see below
AT_ONCE = 5_000
ARRIVES_AFTER = timedelta(minutes=1)
MATERIALS = ("peelings", "leaves-mixed", "cardboard", "grass-fresh", "coffee", "wood-chip", "horse-manure")

Said = tuple[int, dict[str, Any]]  # who, and what they sent


def fill(entries: int, ending: datetime | None = None) -> None:
    """Make the cooperative in an empty database, with so many entries up to a moment."""
    sites, growers = _ground(), people()
    said = islice(_told(sites, entries, ending or timezone.now()), entries)
    with transaction.atomic():
        while part := list(islice(said, AT_ONCE)):
            append(part, sites, growers)
        for site in sites:
            history.rebuild(site)


def people() -> list[Member]:
    """Who records, in their order."""
    return list(Member.objects.order_by("username"))


def _ground() -> list[Site]:
    Cooperative.objects.create(name="Twenty Lanes Growers", bag_litres=40)
    sites = [Site.objects.create(name=f"Lane {number:02}") for number in range(1, SITES + 1)]
    Bay.objects.bulk_create(
        Bay(site=site, name=f"Bay {place}", position=place, length_cm=150, width_cm=150, height_cm=120)
        for site in sites
        for place in range(1, BAYS + 1)
    )
    Container.objects.bulk_create(Container(site=site, name="bucket", litres=10) for site in sites)
    names = (f"grower{number:03}" for number in range(SITES * AT_EACH))
    Member.objects.bulk_create(Member(username=name, name=name.title()) for name in names)
    return sites


def _told(sites: Sequence[Site], entries: int, ending: datetime) -> Iterator[Said]:
    """What everybody sends, in the order of time: at least so many."""
    chance = random.Random(entries)  # noqa: S311 - the same years each time
    days = math.ceil(entries / (SITES * ENTRIES_A_DAY)) + 2
    grounds = [_Ground(place, site, chance) for place, site in enumerate(sites)]
    for back in range(days, 0, -1):
        day = (ending - timedelta(days=back)).replace(hour=7, minute=0, second=0, microsecond=0)
        told = [one for ground in grounds for one in ground.day(day, days - back)]
        yield from sorted(told, key=lambda one: str(one[1]["occurred_at"]))


class _Ground:
    """One site's days."""

    def __init__(self, place: int, site: Site, chance: random.Random) -> None:
        self.people = range(place * AT_EACH, (place + 1) * AT_EACH)
        self.chance = chance
        self.site = str(site.uid)
        self.bays = [str(bay.uid) for bay in site.bays.order_by("position")]
        self.container = str(site.containers.get().uid)
        self.first = chance.randrange(21)  # sites do not turn all on one day
        self.loads: list[Said] = []

    def day(self, morning: datetime, number: int) -> Iterator[Said]:
        """Thirteen entries, more or less, of one day from the morning on."""
        cycle, into = divmod(number + self.first, 21)
        fed, ripe = self.bays[cycle % FED], self.bays[FED + cycle % FED]
        yesterday, self.loads = self.loads, []
        for place in range(self.chance.randint(9, 13)):
            load = self._said("dropoff", fed, morning + timedelta(minutes=37 * place), self._load())
            self.loads.append((self._who(), load))
        yield from self.loads
        evening = morning + timedelta(hours=9)
        yield self._who(), self._said("reading", fed, evening, {"temp_tenths_c": self.chance.randint(150, 650)})
        if into % 3 == 0:
            yield self._who(), self._said("water", fed, evening, {"volume_ml": 20_000})
            yield self._who(), self._said("hours", None, evening, {"minutes": 90, "people": self.chance.randint(1, 6)})
        if into % 7 == 0 and yesterday:
            who, load = self.chance.choice(yesterday)
            yield who, self._mended(load, evening)
        if into % 7 == 3:
            yield self._who(), self._said("collection", None, evening, {"half_bags": 4, "bag_ml": 40_000})
        if into == 20:  # what is ripe goes, what was fed takes its place
            gone = {"half_bags": 40, "bag_ml": 40_000, "per_cent": 100, "sieved": "sieved"}
            yield self._who(), self._said("harvest", ripe, evening, gone)
            turned = {"sources": [{"bay": fed, "per_cent": 100}]}
            yield self._who(), self._said("turn", ripe, evening + timedelta(minutes=5), turned)

    def _who(self) -> int:
        return self.chance.choice(self.people)

    def _load(self) -> dict[str, Any]:
        load = {
            "feedstock": self.chance.choice(MATERIALS),
            "half_containers": self.chance.randint(1, 8),
            "container_ml": 10_000,
            "container": self.container,
        }
        return load | ({"weighed_g": self.chance.randint(500, 9_000)} if self.chance.random() < 0.1 else {})

    def _mended(self, load: dict[str, Any], at: datetime) -> dict[str, Any]:
        """A correction of yesterday's load: another count, or that it never came."""
        if self.chance.random() < 0.3:
            return self._said("correction", None, at, {"corrects": load["uid"], "says": "withdraw"})
        instead = {"kind": "dropoff", "bay": load["bay"], "details": load["details"] | {"half_containers": 9}}
        return self._said("correction", None, at, {"corrects": load["uid"], "says": "instead"} | instead)

    def _said(self, kind: str, bay: str | None, at: datetime, details: dict[str, Any]) -> dict[str, Any]:
        uid = str(uuid.UUID(int=self.chance.getrandbits(128), version=4))
        at += timedelta(seconds=self.chance.randrange(1_800))
        return {
            "wire": 1, "uid": uid, "kind": kind, "site": self.site, "bay": bay, "occurred_at": at.isoformat(),
            "by_hand": False, "details": details, "words": "",
        }  # fmt: skip


def append(said: Sequence[Said], sites: Sequence[Site], growers: Sequence[Member]) -> None:
    """Rows at the chain's end, as the door appends them, each arriving a minute after it happened."""
    materials = known_materials()
    lock = head()
    site_ids = {str(site.uid): site.pk for site in sites}
    bay_ids = {str(uid): pk for uid, pk in Bay.objects.values_list("uid", "pk")}
    rows = []
    for who, raw in said:
        wired = wire.read(raw, materials)
        row = Entry(
            uid=uuid.UUID(wired.uid),
            kind=wired.kind,
            site_id=site_ids[wired.site],
            bay_id=bay_ids[wired.bay] if wired.bay else None,
            occurred_at=wired.occurred_at,
            effective_at=wired.occurred_at,
            received_at=wired.occurred_at + ARRIVES_AFTER,
            by_hand=wired.by_hand,
            details=wired.details,
            corrects=uuid.UUID(wired.what.corrects) if isinstance(wired.what, Correction) else None,
            fingerprint=wired.fingerprint,
            person_id=growers[who].pk,
            device=uuid.UUID(int=who + 1),
            words=wired.words,
        )
        row.chain = lock.chain = link(lock.chain, row)
        rows.append(row)
    many.insert(Entry, COLUMNS, map(attrgetter(*COLUMNS), rows))
    lock.entries += len(rows)
    lock.save()
