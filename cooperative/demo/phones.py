"""Through the one door: what stood in a notebook at first, then what phones send, late and by wrong clocks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

from cooperative.demo.diary import Said
from cooperative.demo.loads import GIVEN_BY
from cooperative.demo.people import PEOPLE, Person
from heaps import wire
from heaps.doubts import NOTEBOOK
from heaps.models import Donor, Site
from heaps.sync import Sending, accept
from members.models import Member

#: For so many weeks they have recorded on phones. What came before stood in a notebook, which bryony brought in.
PHONES_WEEKS = 13
BROUGHT_IN_BY = "bryony"
NOTEBOOK_LINES = 500  # at once, as `manage.py import` does
SECOND_PHONE_ON = (5, 6)  # Saturday and Sunday


@dataclass(frozen=True)
class Parcel:
    """What one phone sends at one moment."""

    person: Person
    phone: UUID
    received_at: datetime
    said: tuple[Said, ...]


@dataclass
class Names:
    """What the ledger calls the bays, containers and givers that the story tells of."""

    sites: dict[str, Site]
    uids: dict[tuple[str, str], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, site in self.sites.items():
            self.uids |= {(name, bay.name): str(bay.uid) for bay in site.bays.all()}
            self.uids |= {(name, container.name): str(container.uid) for container in site.containers.all()}
            givers = Donor.objects.filter(site=None) | site.donors.all()
            self.uids |= {(name, donor.kind): str(donor.uid) for donor in givers}

    def of(self, site: str, name: str | None) -> str | None:
        """A uid; what is no name here is one already."""
        return self.uids.get((site, name), name) if name else None

    def placed(self, site: str, details: dict[str, Any]) -> dict[str, Any]:
        """Details with bays and containers by their uid."""
        placed = dict(details)
        if "sources" in placed:
            placed["sources"] = [{"bay": self.of(site, bay), "per_cent": 100} for bay in placed["sources"]]
        for name in {"bay", "container"} & placed.keys():
            placed[name] = self.of(site, placed[name])
        if "details" in placed:
            placed["details"] = self.placed(site, placed["details"])
        return placed


def send(said: Sequence[Said], sites: dict[str, Site], now: datetime) -> None:
    """Everything that was recorded, in the order in which it arrived."""
    names = Names(sites)
    members = {member.username: member for member in Member.objects.all()}
    since = phones_since(now)
    _bring_in([one for one in said if one.at < since], names, members, since)
    for parcel in parcels([one for one in said if one.at >= since], now):
        wrong = parcel.person.clock_wrong
        raws = [_raw(one, names) | {"occurred_at": (one.at + wrong).isoformat()} for one in parcel.said]
        sender = members[parcel.person.username]
        for first in range(0, len(raws), wire.MOST_ENTRIES):
            sent_at = parcel.received_at + wrong
            sending = Sending(sender, parcel.phone, sent_at=sent_at, received_at=parcel.received_at)
            _take(raws[first : first + wire.MOST_ENTRIES], sending)


def phones_since(now: datetime) -> datetime:
    """When the notebook was brought in and the phones came."""
    return now - timedelta(weeks=PHONES_WEEKS)


def _bring_in(lines: Sequence[Said], names: Names, members: dict[str, Member], at: datetime) -> None:
    """The notebook: dates typed in, and who recorded each line."""
    for first in range(0, len(lines), NOTEBOOK_LINES):
        part = lines[first : first + NOTEBOOK_LINES]
        people = {one.uid: members[one.who] for one in part}
        sending = Sending(members[BROUGHT_IN_BY], NOTEBOOK, sent_at=at, received_at=at, recorded_by=people)
        _take([_raw(one, names) | {"by_hand": True} for one in part], sending)


def _take(raws: list[dict[str, Any]], sending: Sending) -> None:
    for receipt in accept(raws, sending):
        if receipt.state == "refused":
            raise AssertionError(f"The demo's own entry was refused: {receipt.reason}")


def parcels(said: Sequence[Said], now: datetime) -> list[Parcel]:
    """What each phone holds when it next finds a signal, in the order of arrival."""
    people = {person.username: person for person in PEOPLE}
    by_phone: dict[tuple[str, UUID], list[Said]] = {}
    for one in said:
        by_phone.setdefault((one.who, phone_of(people[one.who], one.at)), []).append(one)
    found = [
        Parcel(people[name], phone, min(arrives, now), ones)
        for (name, phone), own in by_phone.items()
        for arrives, ones in _letters(own, people[name].waits)
    ]
    return sorted(found, key=lambda parcel: (parcel.received_at, parcel.person.username))


def _letters(own: Sequence[Said], waits: timedelta) -> Iterator[tuple[datetime, tuple[Said, ...]]]:
    """One phone's entries by the moment at which they arrive: those of the wait after the first go with it."""
    late = {one.arrives for one in own if one.arrives}
    for arrives in sorted(late):
        yield arrives, tuple(one for one in own if one.arrives == arrives)
    letter: list[Said] = []
    for one in (one for one in own if one.arrives is None):
        if letter and one.at > letter[0].at + waits:
            yield letter[0].at + waits, tuple(letter)
            letter = []
        letter.append(one)
    if letter:
        yield letter[0].at + waits, tuple(letter)


def _raw(one: Said, names: Names) -> dict[str, Any]:
    """The entry as it goes over the wire."""
    giver = GIVEN_BY[one.site].get(one.details.get("feedstock", "")) if one.kind == "dropoff" else None
    return {
        "wire": wire.WIRE,
        "uid": one.uid,
        "kind": one.kind,
        "site": str(names.sites[one.site].uid),
        "bay": names.of(one.site, one.bay),
        "occurred_at": one.at.isoformat(),
        "by_hand": False,
        "details": names.placed(one.site, one.details),
        "words": one.words,
        "donor": names.of(one.site, giver),
    }


def phone_of(person: Person, at: datetime) -> UUID:
    """Which of somebody's phones it was: the second one is only carried at weekends."""
    second = person.phones > 1 and at.weekday() in SECOND_PHONE_ON
    return made_up(f"{person.username}'s {'second ' if second else ''}phone")


def made_up(name: str) -> UUID:
    """The same number at every filling."""
    return UUID(int=Random(name).getrandbits(128), version=4)  # noqa: S311 - no secret
