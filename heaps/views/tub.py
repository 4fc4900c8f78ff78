"""The soaking tub."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.science.feedstocks import cited
from heaps.science.soaking import WEEDS
from heaps.tub import never_in_the_tub, tubs
from members.access import role_required


@require_safe
@role_required("member")
def tub(request: HttpRequest) -> HttpResponse:
    """What soaks at each site, what may come out when, what the sun cannot be trusted with, what never goes in."""
    now = timezone.now()
    context = {
        "now": now,
        "tubs": tubs(now),
        "weeds": list(WEEDS.values()),
        "never": never_in_the_tub(),
        "sources": cited(" ".join(dict.fromkeys(weed.source for weed in WEEDS.values())) + " KNOT NOBLE04 RYCK02"),
    }
    return render(request, "heaps/tub.html", context)
