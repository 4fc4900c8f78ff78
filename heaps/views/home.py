"""The first page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.board import sites_now, waiting_for_coordinators
from members.access import no_store, signed_in
from members.models import Cooperative


@require_safe
@no_store
def home(request: HttpRequest) -> HttpResponse:
    """What this is, and the few ways on that each role wants first."""
    person = signed_in(request)
    mends = bool(person and (person.is_coordinator or person.is_administrator))
    waiting = sum(waiting_for_coordinators()) + sum(site.odd for site in sites_now(timezone.now())) if mends else 0
    context = {
        "cooperative": Cooperative.objects.first(),
        "person": person,
        "mends": mends,
        "reads_year": mends or bool(person and person.is_treasurer),
        "waiting": waiting,
    }
    return render(request, "heaps/home.html", context)
