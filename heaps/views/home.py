"""The first page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.board import sites_now, waiting_for
from heaps.models import Site
from heaps.permissions import due
from heaps.stewards import Care, care_of
from members.access import no_store, signed_in
from members.models import Cooperative


@require_safe
@no_store
def home(request: HttpRequest) -> HttpResponse:
    """What this is, and the few ways on that each role wants first."""
    person = signed_in(request)
    care = care_of(person)
    context = {
        "cooperative": Cooperative.objects.first(),
        "person": person,
        "reads_year": care or (person and person.is_treasurer),
        "waiting": _waiting(care) if care else 0,
        "due": due(Site.objects.select_related("papers"), timezone.now()) if care.everywhere else [],
    }
    return render(request, "heaps/home.html", context)


def _waiting(care: Care) -> int:
    return sum(waiting_for(care)) + sum(site.odd for site in sites_now(timezone.now()) if site.pk in care)
