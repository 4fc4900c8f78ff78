"""Sessions that know their device, so that somebody can see where they are signed in and end it there."""

import uuid
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.contrib.sessions.middleware import SessionMiddleware as DjangosMiddleware
from django.db.models import Q, QuerySet
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from members.models import Device, Member, Session

DEVICE_KEY = "device"
SIGNS_IN_ANEW = gettext_lazy("With a new role %(name)s signs in anew, by password or by words that you give.")
SEEN_EVERY = timedelta(hours=1)
QUIET_AFTER = timedelta(days=3)  # with entries waiting; a phone that is used speaks sooner
KEPT_AFTER_END = timedelta(days=35)  # as long as a phone keeps what it has sent
#: What a browser says of itself, in the order in which it must be asked: most of them name others, too.
SYSTEMS = (
    ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("CrOS", "Chromebook"), ("Windows", "Windows"),
    ("Macintosh", "Mac"), ("Linux", "Linux"),
)  # fmt: skip
BROWSERS = (
    ("SamsungBrowser", "Samsung Internet"), ("Edg", "Edge"), ("OPR", "Opera"), ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"), ("CriOS", "Chrome"), ("Chrome", "Chrome"), ("Safari", "Safari"),
)  # fmt: skip


class SessionStore(DatabaseStore):
    """Sessions in the database, each beside the device it belongs to.

    The name is that of Django's own store: it is part of the signature of what is stored.
    """

    @classmethod
    def get_model_class(cls) -> Any:
        return Session

    def load(self) -> dict[str, Any]:
        """As Django does, and at most once an hour it is noted that the device was seen."""
        row: Any = self._get_session_from_db()  # type: ignore[attr-defined]  # its stubs lack it
        if row is None:
            return {}
        now = timezone.now()
        if row.device and row.device.last_seen_at < now - SEEN_EVERY:
            Device.objects.filter(pk=row.device_id).update(last_seen_at=now)
        found: dict[str, Any] = self.decode(row.session_data)
        return found

    def create_model_instance(self, data: dict[str, Any]) -> Any:
        row: Any = super().create_model_instance(data)
        row.device_id = data.get(DEVICE_KEY)
        return row


class SessionMiddleware(DjangosMiddleware):
    """As Django has it, but an answer takes away no cookie whose session its own request did not end.

    A phone with an ended session may ask in the background while somebody signs in on it. The answer to that may come
    last, and would sign them out again.
    """

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        """Leave the cookie of a session that is not there: it opens nothing, and the next sign-in writes over it."""
        answer = super().process_response(request, response)
        if not request.session.modified:
            answer.cookies.pop(settings.SESSION_COOKIE_NAME, None)
        return answer


@receiver(user_logged_in)
def note_device(request: HttpRequest, user: Member, **_said: Any) -> None:
    """Whoever signs in does so on a device, which stands on their page from then on."""
    now = timezone.now()
    label = label_of(request.META.get("HTTP_USER_AGENT", ""))
    device = Device.objects.create(member=user, label=label, signed_in_at=now, last_seen_at=now)
    request.session[DEVICE_KEY] = device.pk


@receiver(user_logged_out)
def note_end(request: HttpRequest, **_said: Any) -> None:
    """Whoever signs out is no longer signed in on that device."""
    device = request.session.get(DEVICE_KEY, 0)
    Device.objects.filter(pk=device, ended_at=None).update(ended_at=timezone.now())


def end(device: Device) -> None:
    """Sign somebody out on one device. What it recorded stays on it and can still be handed in."""
    Session.objects.filter(device=device).delete()
    device.ended_at = timezone.now()
    device.save(update_fields=["ended_at"])


def end_all(person: Member) -> None:
    """Sign somebody out wherever they are signed in."""
    for device in person.devices.filter(ended_at=None):
        end(device)


def begin_anew(person: Member) -> None:
    """Whoever is given a role signs in anew: a way in kept from before could be somebody else's.

    Words for a plain member are given by any coordinator, and passkeys are made with them.
    """
    end_all(person)
    person.passkeys.all().delete()


def note_phone(request: HttpRequest, phone: uuid.UUID, waiting: int) -> None:
    """What the phone behind a request says of itself: its number, and how many entries still wait on it.

    With another number than before it comes with an empty store: what it spoke of last is missing.
    """
    said: dict[str, Any] = {"phone": phone, "waiting": waiting, "spoke_at": timezone.now()}
    here = Device.objects.filter(pk=request.session.get(DEVICE_KEY, 0))
    if here.filter(phone=phone).update(**said):
        return  # the same as ever
    device = here.first()
    if device is None:
        return
    if device.phone and device.waiting:
        said |= {"missing": device.missing + device.waiting, "missing_since": device.spoke_at}
    # of what waits on one phone, whosever it is, only its newest sign-in speaks
    Device.objects.filter(phone=phone).update(waiting=0)
    here.update(**said)


def note_handed_in(phone: uuid.UUID, waiting: int) -> None:
    """How many entries still wait on a phone, whosever they are, after some were handed in from it."""
    devices = Device.objects.filter(phone=phone, waiting__gt=0)
    devices.update(waiting=waiting, spoke_at=timezone.now())


def device_of(request: HttpRequest) -> Device | None:
    """The device on which somebody is signed in."""
    return Device.objects.filter(pk=request.session.get(DEVICE_KEY, 0)).first()


def is_signed_in(person: Member, phone: uuid.UUID, now: datetime) -> bool:
    """Whether somebody is signed in on the phone with that number."""
    live = Session.objects.filter(
        device__member=person, device__phone=phone, device__ended_at=None, expire_date__gt=now
    )
    return person.is_active and live.exists()


def quiet(now: datetime) -> QuerySet[Device]:
    """Devices that spoke of waiting entries and not since, and those that came back with an empty store."""
    found = Device.objects.filter(Q(missing__gt=0) | Q(waiting__gt=0, spoke_at__lt=now - QUIET_AFTER))
    return found.select_related("member").order_by("spoke_at", "pk")


def is_quiet(device: Device, others: Iterable[Device], now: datetime) -> bool:
    """Whether what a device spoke of may be gone: it has not come since, or somebody signed in anew on one like it."""
    if not device.waiting or device.spoke_at is None:
        return False
    spoke_at = device.spoke_at
    anew = any(one.label == device.label and one.signed_in_at > spoke_at for one in others)
    return anew or spoke_at < now - QUIET_AFTER


def settle(device: Device) -> None:
    """Its person has seen to what was missing."""
    Device.objects.filter(pk=device.pk).update(missing=0, missing_since=None, waiting=0)


def delete_long_ended(now: datetime) -> None:
    """Forget devices whose sign-in was ended, or ran out by itself, before the journal on them went."""
    before = now - KEPT_AFTER_END
    Device.objects.filter(ended_at__lt=before).delete()
    Device.objects.filter(sessions=None, last_seen_at__lt=before).delete()


def label_of(user_agent: str) -> str:
    """A browser in a person's words, like "Android, Chrome". Nothing more of what it says of itself is kept."""
    found = [next((word for mark, word in marks if mark in user_agent), None) for marks in (SYSTEMS, BROWSERS)]
    return ", ".join(word for word in found if word) or _("Another device")
