"""The board."""

from functools import lru_cache
from typing import NamedTuple

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from heaps.board import BayNow, sites_now, waiting_for
from heaps.stewards import care_of
from members.access import role_required, signed_in


@require_safe
@role_required("member")
def board(request: HttpRequest) -> HttpResponse:
    """Every heap in its order on the ground. No names stand here: phones keep this page."""
    now = timezone.now()
    sites = sites_now(now)
    care = care_of(signed_in(request))
    waiting = sum(waiting_for(care)) if care else 0
    cards = [(site, [card(bay) for bay in site.bays]) for site in sites]
    context = {
        "now": now,
        "sites": cards,
        "waits": [(site, one.waits) for site, here in cards for one in here if one.waits],
        "waiting": waiting + sum(site.odd for site in sites if site.pk in care),
    }
    return render(request, "heaps/board.html", context)


class Card(NamedTuple):
    """One bay's places on the board: drawn beside its neighbours, told, and on top if it needs something."""

    drawn: SafeString
    told: SafeString
    waits: SafeString


@lru_cache(maxsize=2_000)
def card(bay: BayNow) -> Card:
    """A bay's places on the board. One of which nothing has changed is not drawn again."""
    said = {"now": bay, "section": bay.small}
    waits = render_to_string("heaps/_bay_waits.html", said) if bay.waits else SafeString()
    return Card(render_to_string("heaps/_bay_drawn.html", said), render_to_string("heaps/_bay.html", said), waits)
