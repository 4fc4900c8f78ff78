"""What people recorded, sent from their phones: later than it happened, by clocks that are a little wrong."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from random import Random
from typing import Any
from uuid import UUID

from django.db import transaction

from cooperative.demo import ground, season
from cooperative.demo.ground import PEOPLE, Person
from cooperative.demo.loads import GIVEN_BY
from cooperative.demo.season import Said
from heaps import wire
from heaps.models import BeanTest, Donor, Entry, Site
from heaps.sync import Sending, accept
from members.models import Cooperative, Member


@dataclass(frozen=True)
class Parcel:
    """What one phone sends at one moment."""

    person: Person
    received_at: datetime
    said: tuple[Said, ...]


@transaction.atomic
def fill(now: datetime) -> bool:
    """Fill an empty database with a season that ends at `now`. False when something is there already."""
    if Cooperative.objects.exists():
        return False
    site = ground.lay_out()
    uids = {bay.name: str(bay.uid) for bay in site.bays.all()}
    uids |= {container.name: str(container.uid) for container in site.containers.all()}
    uids |= {donor.kind: str(donor.uid) for donor in site.donors.all()}
    members = {member.username: member for member in Member.objects.all()}
    devices = {person.username: _made_up_phone(person.username) for person in PEOPLE}
    for parcel in _parcels(season.told(now), now):
        sent_at = parcel.received_at + parcel.person.clock_wrong
        name = parcel.person.username
        raws = [_raw(one, site, uids, parcel.person) for one in parcel.said]
        for first in range(0, len(raws), wire.MOST_ENTRIES):
            sending = Sending(members[name], devices[name], sent_at=sent_at, received_at=parcel.received_at)
            for receipt in accept(raws[first : first + wire.MOST_ENTRIES], sending):
                if receipt.state == "refused":
                    raise AssertionError(f"The demo's own entry was refused: {receipt.reason}")
    _sow_beans(now)
    return True


def _sow_beans(now: datetime) -> None:
    """A bean test of the stable's latest load but those of the last days: it is still growing."""
    then = now - timedelta(days=12)
    manure = Entry.objects.filter(donor__kind=Donor.Kind.STABLE, effective_at__lt=then - timedelta(days=1))
    if load := manure.select_related("site").order_by("effective_at").last():
        BeanTest.objects.create(entry=load, sown_on=load.site.day_of(then), words="six pots on the shed's window sill")


def _parcels(said: Sequence[Said], now: datetime) -> list[Parcel]:
    """Each person's entries of one day, sent when their phone next finds a signal, in the order of arrival."""
    people = {person.username: person for person in PEOPLE}
    found = []
    for name, person in people.items():
        own = sorted((one for one in said if one.who == name), key=lambda one: one.at)
        for _, day in groupby(own, key=lambda one: (one.arrives, one.at.date())):
            ones = tuple(day)
            arrives = ones[0].arrives or ones[-1].at + person.waits
            found.append(Parcel(person, min(arrives, now), ones))
    return sorted(found, key=lambda parcel: (parcel.received_at, parcel.person.username))


def _raw(one: Said, site: Site, uids: dict[str, str], person: Person) -> dict[str, Any]:
    """The entry as the phone writes it, by its own clock."""
    return {
        "wire": wire.WIRE,
        "uid": one.uid,
        "kind": one.kind,
        "site": str(site.uid),
        "bay": uids.get(one.bay, one.bay) if one.bay else None,
        "occurred_at": (one.at + person.clock_wrong).isoformat(),
        "by_hand": False,
        "details": _placed(one.details, uids),
        "words": one.words,
        "donor": uids.get(GIVEN_BY.get(one.details.get("feedstock", ""), "")),
    }


def _placed(details: dict[str, Any], uids: dict[str, str]) -> dict[str, Any]:
    """Details with bays and containers by their uid."""
    placed = dict(details)
    if "sources" in placed:
        placed["sources"] = [{"bay": uids[bay], "per_cent": 100} for bay in placed["sources"]]
    for name in {"bay", "container"} & placed.keys():
        placed[name] = uids[placed[name]]
    if "details" in placed:
        placed["details"] = _placed(placed["details"], uids)
    return placed


def _made_up_phone(username: str) -> UUID:
    """The same number at every filling."""
    return UUID(int=Random(username).getrandbits(128), version=4)  # noqa: S311 - no secret
