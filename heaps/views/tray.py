"""The coordinators' tray."""

import uuid
from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from heaps import tray as waiting
from heaps.models import Bay, Site
from heaps.stewards import care_of, coordinators
from heaps.sync import Receipt
from members.access import signed_in
from members.models import Member
from members.sessions import quiet


@require_http_methods(["GET", "HEAD", "POST"])
@coordinators
def tray(request: HttpRequest) -> HttpResponse:
    """What waits; a POST settles one question or places one parked entry."""
    if request.method == "POST":
        _tell(request, _settle(request))
        return redirect("heaps:tray")
    care = care_of(signed_in(request))
    context = {
        "tray": waiting.tray(timezone.now(), care),
        "quiet": quiet(timezone.now()) if care.everywhere else (),
        "bays": care.of(Bay.objects.select_related("site")),
        "sites": care.of(Site.objects.all(), "pk"),
        "day": (day := _day(request.GET.get("day", ""))),
        "of_day": waiting.of_day(day, care) if day else (),
    }
    return render(request, "heaps/tray.html", context)


def _settle(request: HttpRequest) -> Receipt:
    person, uid = signed_in(request), _uid(request.POST.get("entry", ""))
    receipt = _settled(person, uid, request.POST.dict()) if person else None
    if receipt is None:
        raise Http404
    return receipt


def _settled(person: Member, uid: uuid.UUID, chosen: dict[str, str]) -> Receipt | None:
    said, now = chosen.get("says", ""), timezone.now()
    if said == "place":
        return waiting.place(uid, chosen, person, now)
    if said == "leave out":
        return waiting.leave_out(uid, person, now)
    if said == "bring back":
        return waiting.bring_back(uid, person)
    return waiting.answer(uid, said, person, now) if said in ("withdraw", "stands") else None


def _tell(request: HttpRequest, receipt: Receipt) -> None:
    told = {
        "accepted": _("Settled. Your answer is in the ledger."),
        "known": _("Settled. It was in the ledger already."),
        "left out": _("Left out. It stands below and can be brought back."),
        "waiting": _("It waits again."),
        "settled before": _("Somebody has just settled this one. You need do nothing."),
    }
    if receipt.state in told:
        messages.success(request, told[receipt.state])
    else:
        messages.error(request, _("Not settled. %(reason)s") % {"reason": receipt.reason})


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _uid(text: str) -> uuid.UUID:
    try:
        return uuid.UUID(text)
    except ValueError:
        raise Http404 from None
