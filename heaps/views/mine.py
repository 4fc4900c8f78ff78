"""Somebody's own page."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps import mine as own
from heaps.collection import expected
from members.access import role_required, signed_in


@require_safe
@role_required("member")
def mine(request: HttpRequest) -> HttpResponse:
    """What I brought, what became of it, my hours, and the ways to take it along or to leave."""
    person = signed_in(request)
    if person is None:  # role_required has seen to it; this tells the type checker
        raise Http404
    now = timezone.now()
    found = own.mine(person, now)
    ahead = {one.bay_uid: one for one in expected(now)} if found.lies_in else {}
    lies_in = [(one, ahead.get(one.bay_uid)) for one in found.lies_in]
    return render(request, "heaps/mine.html", {"person": person, "mine": found, "lies_in": lies_in})
