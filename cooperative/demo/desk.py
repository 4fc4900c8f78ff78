"""What is not recorded on a phone: bean tests, calls, what a signed-out phone hands in, devices, names that go."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.crypto import get_random_string

from cooperative.demo.people import ESTATE, PEOPLE, SCHOOL
from cooperative.demo.phones import made_up, phone_of, phones_since
from cooperative.leaving import months_before, months_kept
from heaps import wire
from heaps.calls import next_saturday
from heaps.models import BeanTest, Call, Donor, Entry, Parked, Site
from heaps.names import Named, take_off
from heaps.sync import Sending, hand_in
from heaps.tray import leave_out
from members.models import Device, Member, Session
from members.sessions import DEVICE_KEY, SessionStore

LABELS = ("Android, Chrome", "iPhone, Safari", "Android, Firefox", "Android, Samsung Internet")
SECOND_LABEL = "iPad, Safari"
SIGNED_IN_FOR = timedelta(days=180)
SIGNED_OUT = "newt"


def tidy(sites: dict[str, Site], now: datetime) -> None:
    """All of it, after everything has been sent."""
    _sow_beans(now)
    _call(sites[ESTATE], now)
    _hand_in(sites[SCHOOL], now)
    _devices(now)
    before = months_before(now, months_kept())
    take_off(Named(Entry.objects.filter(effective_at__lt=before), Parked.objects.filter(received_at__lt=before)))


def _sow_beans(now: datetime) -> None:
    """Bean tests of lawn cuttings from the park, which is over and grew well, and of manure, which is still growing."""
    over = {"result": BeanTest.Result.WELL, "read_on": (now - timedelta(days=150)).date()}
    _beans(Donor.Kind.GARDEN, now - timedelta(days=180), "six pots in the window of the flat above", over)
    _beans(Donor.Kind.STABLE, now - timedelta(days=12), "six pots on the shed's window sill", {})


def _call(site: Site, now: datetime) -> None:
    """The estate is short of browns, and asks everybody."""
    until = next_saturday(site.day_of(now))
    Call.objects.create(site=site, says="We need 6 sacks of cardboard, torn up.", until=until, made_at=now)


def _beans(giver: str, sown: datetime, words: str, read: dict[str, Any]) -> None:
    """Sown with the giver's latest load of the time."""
    given = Entry.objects.filter(donor__kind=giver, effective_at__lt=sown - timedelta(days=1))
    if load := given.select_related("site").order_by("effective_at").last():
        BeanTest.objects.create(entry=load, sown_on=load.site.day_of(sown), words=words, **read)


def _hand_in(site: Site, now: datetime) -> None:
    """Two loads on a phone that was signed out: one waits for a coordinator, one was left out."""
    newt = Member.objects.get(username=SIGNED_OUT)
    bucket, bay = site.containers.get(name="bucket"), site.bays.get(name="Bay 1")
    load = {"container": str(bucket.uid), "container_ml": bucket.filled_ml}
    raws: list[dict[str, Any]] = [
        {
            "wire": wire.WIRE, "uid": str(made_up(f"{newt}'s {feedstock}")), "kind": "dropoff", "site": str(site.uid),
            "bay": str(bay.uid), "occurred_at": (now - timedelta(days=days)).isoformat(),
            "details": {**load, "feedstock": feedstock, "half_containers": 2},
        }
        for feedstock, days in (("fruit", 6), ("pet-bedding", 5))
    ]  # fmt: skip
    received_at = now - timedelta(days=2)
    hand_in(raws, str(newt.uid), Sending(newt, made_up(SIGNED_OUT), sent_at=received_at, received_at=received_at))
    leave_out(UUID(raws[1]["uid"]), Member.objects.get(username="bryony"), now - timedelta(days=1))


def _devices(now: datetime) -> None:
    """Where everybody is signed in. The sessions sign nobody in: they only say that a sign-in runs."""
    phones = [
        (place, person, phone)
        for place, person in enumerate(PEOPLE)
        for phone in sorted({phone_of(person, now + timedelta(days=day)) for day in range(7)}, key=str)
    ]
    members = {member.username: member for member in Member.objects.all()}
    devices = [
        Device(
            member=members[person.username],
            label=LABELS[place % len(LABELS)] if phone == made_up(f"{person.username}'s phone") else SECOND_LABEL,
            signed_in_at=phones_since(now) + timedelta(days=place),
            last_seen_at=now - timedelta(hours=3 + 7 * place % 90),
            phone=phone,
            waiting=0,
            ended_at=now - timedelta(days=4) if person.username == SIGNED_OUT else None,
        )
        for place, person, phone in phones
    ]
    store = SessionStore()
    Session.objects.bulk_create(
        Session(
            session_key=get_random_string(32, "abcdefghijklmnopqrstuvwxyz0123456789"),
            session_data=store.encode({DEVICE_KEY: device.pk}),
            expire_date=now + SIGNED_IN_FOR,
            device=device,
        )
        for device in Device.objects.bulk_create(devices)
        if device.ended_at is None
    )
