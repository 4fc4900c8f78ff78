"""Where phones hand in what they recorded."""

import json
import uuid
from datetime import timedelta
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from heaps import sync as door
from heaps import wire
from members.models import Member

#: A clock more than this wrong is not a clock; the sending is then dated by its arrival.
WILDEST_CLOCK = timedelta(days=40 * 365)
UNREADABLE = "What was sent cannot be read. It stays on the phone."


@never_cache
@require_http_methods(["GET", "POST"])
def sync(request: HttpRequest) -> HttpResponse:
    """GET says who is signed in and gives the token for sending; POST takes entries and answers with receipts."""
    if request.method == "GET":
        return _answer(_who(request))
    if not isinstance(request.user, Member):
        return _problem(401, "Sign in to send what is kept on this phone.")
    if request.content_type != "application/json":
        return _problem(415, "This is not a list of entries.")
    try:
        body = _body(request)
        receipts = door.accept(body["entries"], _sending(body, request.user))
    except RequestDataTooBig:
        return _problem(413, f"This is too much at once. Send at most {wire.MOST_ENTRIES} entries.")
    except wire.Refusal as refusal:
        return _problem(400, str(refusal))
    except RecursionError:
        return _problem(400, UNREADABLE)
    except PermissionError as stranger:
        return _problem(409, str(stranger))
    return _answer({"receipts": [vars(receipt) for receipt in receipts]})


def _who(request: HttpRequest) -> dict[str, str | None]:
    """Who is signed in, and the token for sending.

    Nobody gets no token: its cookie, coming late, would spoil the sign-in form that was opened meanwhile.
    """
    if not isinstance(request.user, Member):
        return {"csrf": None, "person": None}
    return {"csrf": get_token(request), "person": str(request.user.uid)}


def _body(request: HttpRequest) -> dict[str, Any]:
    try:
        body = json.loads(request.body, parse_constant=float, parse_int=_whole)
    except (ValueError, RecursionError):
        raise wire.Refusal(UNREADABLE) from None
    if not isinstance(body, dict) or not isinstance(body.get("entries"), list):
        raise wire.Refusal("What was sent holds no list of entries. It stays on the phone.")
    if len(body["entries"]) > wire.MOST_ENTRIES:
        raise wire.Refusal(f"Send at most {wire.MOST_ENTRIES} entries at once, not {len(body['entries'])}.")
    return body


def _sending(body: dict[str, Any], person: Member) -> door.Sending:
    if wire.read_uid(body.get("person"), "whose entries these are") != str(person.uid):
        raise PermissionError("Somebody else is signed in now. These entries wait for the one who recorded them.")
    received_at = timezone.now()
    sent_at = wire.read_moment(body.get("sent_at"), "when this was sent")
    if abs(received_at - sent_at) > WILDEST_CLOCK:
        sent_at = received_at
    device = uuid.UUID(wire.read_uid(body.get("device"), "which phone this is"))
    return door.Sending(person=person, device=device, sent_at=sent_at, received_at=received_at)


def _whole(digits: str) -> int | str:
    """A number too long for any quantity stays text, so that only the entry that holds it is refused."""
    return int(digits) if len(digits) <= 18 else digits


def _answer(content: dict[str, Any]) -> JsonResponse:
    return JsonResponse({"wire": wire.WIRE, "epoch": str(door.epoch()), **content})


def _problem(status: int, reason: str) -> JsonResponse:
    return JsonResponse({"reason": reason}, status=status)
