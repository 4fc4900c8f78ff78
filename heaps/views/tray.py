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
        "bays": care.of(Bay.objects.select_related("site")),
        "sites": care.of(Site.objects.all(), "pk"),
        "day": (day := _day(request.GET.get("day", ""))),
        "of_day": waiting.of_day(day, care) if day else (),
    }
    return render(request, "heaps/tray.html", context)


def _settle(request: HttpRequest) -> Receipt:
    person, said = signed_in(request), request.POST.get("says", "")
    uid = _uid(request.POST.get("entry", ""))
    if said == "place" and person:
        chosen = {name: str(value) for name, value in request.POST.items()}
        receipt = waiting.place(uid, chosen, person, timezone.now())
    elif said in ("withdraw", "stands") and person:
        receipt = waiting.answer(uid, said, person, timezone.now())
    else:
        receipt = None
    if receipt is None:
        raise Http404
    return receipt


def _tell(request: HttpRequest, receipt: Receipt) -> None:
    if receipt.state in ("accepted", "known"):
        messages.success(request, _("Settled. Your answer is in the ledger."))
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
