"""Where phones hand in what they recorded."""

import json
import uuid
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_http_methods

from heaps import sync as door
from heaps import wire
from heaps.parking import TooMany
from heaps.wording import refused
from members import hand_over, sessions
from members.models import Member

#: A clock more than this wrong is not a clock; the sending is then dated by its arrival.
WILDEST_CLOCK = timedelta(days=40 * 365)
WAIT_SECONDS = 3600
MOST_WAITING = 1_000_000
UNREADABLE = gettext_noop("What was sent cannot be read. It stays on the phone.")


@never_cache
@csrf_exempt  # for what is handed in with a key, which no other site knows; what a person sends needs the token below
@require_http_methods(["GET", "POST"])
def sync(request: HttpRequest) -> HttpResponse:
    """GET says who is signed in and gives what sending needs; POST takes entries and answers with receipts."""
    if request.method == "GET":
        return _answer(_who(request))
    letter = _letter(request)
    if isinstance(letter, dict) and "key" in letter and not _is_from(letter, request.user):
        return _hand_in(letter)
    return _send(request, letter)


@csrf_protect
def _send(request: HttpRequest, letter: dict[str, Any] | JsonResponse) -> HttpResponse:
    """Take what somebody sends who is signed in."""
    if not isinstance(request.user, Member):
        return _problem(401, _("Sign in to send what is kept on this phone."))
    if isinstance(letter, JsonResponse):
        return letter
    person = request.user

    def note(receipts: Sequence[door.Receipt]) -> None:
        if (left := _left(letter, receipts)) is not None:
            sessions.note_phone(request, uuid.UUID(letter["device"]), left)

    return _receipts(letter, lambda sending: door.accept(letter["entries"], _own(letter, person, sending), note))


def _hand_in(letter: dict[str, Any]) -> HttpResponse:
    """Lay aside for a coordinator what a phone brings that is no longer signed in."""
    whose = str(letter.get("person"))
    if not hand_over.holds(whose, letter["key"]):
        return _problem(401, _("Sign in to send what is kept on this phone."))

    def note(receipts: Sequence[door.Receipt]) -> None:
        if (left := _left(letter, receipts)) is not None:
            sessions.note_handed_in(uuid.UUID(letter["device"]), left)

    return _receipts(letter, lambda sending: door.hand_in(letter["entries"], whose, sending, note))


def _receipts(letter: dict[str, Any], take: Callable[[door.Sending], list[door.Receipt]]) -> HttpResponse:
    try:
        receipts = take(_sending(letter))
    except wire.Refusal as refusal:
        return _problem(400, refused(refusal))
    except RecursionError:
        return _problem(400, _(UNREADABLE))
    except PermissionError as stranger:
        return _problem(409, str(stranger))
    except TooMany:
        answer = _problem(429, _("A lot was handed in today. The rest stays on this phone. Try again tomorrow."))
        answer["Retry-After"] = str(WAIT_SECONDS)
        return answer
    return _answer({"receipts": [receipt._asdict() for receipt in receipts]})


def _who(request: HttpRequest) -> dict[str, str | int | None]:
    """Who is signed in, the token for sending, the key for the time after, and what this phone last said of itself.

    Nobody gets no token: its cookie, coming late, would spoil the sign-in form that was opened meanwhile.
    """
    if not isinstance(request.user, Member):
        return {"csrf": None, "person": None, "key": None}
    device = sessions.device_of(request)
    return {
        "csrf": get_token(request),
        "person": str(request.user.uid),
        "key": hand_over.key_of(request.user),
        "phone": str(device.phone) if device and device.phone else None,
        "waiting": (device and device.waiting) or 0,
    }


def _letter(request: HttpRequest) -> dict[str, Any] | JsonResponse:
    """What was sent, or what is wrong with it, which only somebody who may send is told."""
    if request.content_type != "application/json":
        return _problem(415, _("This is not a list of entries."))
    try:
        return _body(request)
    except RequestDataTooBig:
        return _problem(
            413, _("This is too much at once. Send at most %(most)s entries.") % {"most": wire.MOST_ENTRIES}
        )
    except wire.Refusal as refusal:
        return _problem(400, refused(refusal))


def _own(letter: dict[str, Any], person: Member, sending: door.Sending) -> door.Sending:
    if wire.read_uid(letter.get("person"), "whose entries these are") != str(person.uid):
        raise PermissionError(_("Somebody else is signed in now. These entries wait for the one who recorded them."))
    return replace(sending, person=person)


def _is_from(letter: dict[str, Any], user: object) -> bool:
    return isinstance(user, Member) and letter.get("person") == str(user.uid)


def _body(request: HttpRequest) -> dict[str, Any]:
    try:
        body = json.loads(request.body, parse_constant=float, parse_int=_whole)
    except (ValueError, RecursionError):
        raise wire.Refusal(UNREADABLE) from None
    if not isinstance(body, dict) or not isinstance(body.get("entries"), list):
        raise wire.Refusal("What was sent holds no list of entries. It stays on the phone.")
    if len(body["entries"]) > wire.MOST_ENTRIES:
        raise wire.Refusal(
            "Send at most %(most)s entries at once, not %(found)s.", most=wire.MOST_ENTRIES, found=len(body["entries"])
        )
    return body


def _sending(letter: dict[str, Any]) -> door.Sending:
    """When and from which phone this comes; whose it is, the caller knows."""
    received_at = timezone.now()
    sent_at = wire.read_moment(letter.get("sent_at"), "when this was sent")
    if abs(received_at - sent_at) > WILDEST_CLOCK:
        sent_at = received_at
    device = uuid.UUID(wire.read_uid(letter.get("device"), "which phone this is"))
    return door.Sending(person=None, device=device, sent_at=sent_at, received_at=received_at)


def _left(letter: dict[str, Any], receipts: Sequence[door.Receipt]) -> int | None:
    """How much still waits on the phone, for the page of its person's devices; nothing where it does not say."""
    waiting = letter.get("waiting")
    if type(waiting) is not int or not 0 <= waiting <= MOST_WAITING:
        return None
    return max(0, waiting - sum(receipt.state in ("accepted", "known", "parked") for receipt in receipts))


def _whole(digits: str) -> int | str:
    """A number too long for any quantity stays text, so that only the entry that holds it is refused."""
    return int(digits) if len(digits) <= 18 else digits


def _answer(content: dict[str, Any]) -> JsonResponse:
    return JsonResponse({"wire": wire.WIRE, "epoch": str(door.epoch()), **content})


def _problem(status: int, reason: str) -> JsonResponse:
    return JsonResponse({"reason": reason}, status=status)
