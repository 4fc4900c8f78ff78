"""The coordinators' tray."""

import uuid
from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.views.decorators.http import require_http_methods

from heaps import tray as waiting
from heaps.models import Bay, Site
from heaps.stewards import care_of, coordinators
from heaps.sync import Receipt
from members.access import signed_in
from members.models import Member
from members.sessions import quiet

#: What is said of an answer, by the state of its receipt. The rest was refused.
SETTLED = {
    "accepted": _lazy("Settled. Your answer is in the ledger."),
    "known": _lazy("Settled. It was in the ledger already."),
    "left out": _lazy("Left out. It stands below and can be brought back."),
    "waiting": _lazy("It waits again."),
    "settled before": _lazy("Somebody has just settled this one. You need do nothing."),
}


@require_http_methods(["GET", "HEAD", "POST"])
@coordinators
def tray(request: HttpRequest) -> HttpResponse:
    """What waits; a POST settles one question or places one parked entry. What cannot be placed so is asked again."""
    if request.method != "POST":
        return _page(request, _waits(request))
    uid, receipt = _settle(request)
    if receipt.state in SETTLED:
        messages.success(request, SETTLED[receipt.state])
        return redirect("heaps:tray")
    refused = _("Not settled. %(reason)s") % {"reason": receipt.reason}
    if request.POST["says"] == "place":  # its form may be far down: the answer stands there, with what was chosen
        return _page(request, _waits(request).asked_again(uid, request.POST.dict(), refused))
    messages.error(request, refused)
    return redirect("heaps:tray")


def _waits(request: HttpRequest) -> waiting.Tray:
    return waiting.tray(timezone.now(), care_of(signed_in(request)))


def _page(request: HttpRequest, waits: waiting.Tray) -> HttpResponse:
    care = care_of(signed_in(request))
    context = {
        "tray": waits,
        "quiet": quiet(timezone.now()) if care.everywhere else (),
        "bays": care.of(Bay.objects.select_related("site")),
        "sites": care.of(Site.objects.all(), "pk"),
        "day": (day := _day(request.GET.get("day", ""))),
        "of_day": waiting.of_day(day, care) if day else (),
    }
    return render(request, "heaps/tray.html", context)


def _settle(request: HttpRequest) -> tuple[uuid.UUID, Receipt]:
    person, uid = signed_in(request), _uid(request.POST.get("entry", ""))
    receipt = _settled(person, uid, request.POST.dict()) if person else None
    if receipt is None:
        raise Http404
    return uid, receipt


def _settled(person: Member, uid: uuid.UUID, chosen: dict[str, str]) -> Receipt | None:
    said, now = chosen.get("says", ""), timezone.now()
    if said == "place":
        return waiting.place(uid, chosen, person, now)
    if said == "leave out":
        return waiting.leave_out(uid, person, now)
    if said == "bring back":
        return waiting.bring_back(uid, person)
    return waiting.answer(uid, said, person, now) if said in ("withdraw", "stands") else None


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
