"""Bags: when and how many to expect."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.collection import bags_so_far, expected
from members.access import role_required


@require_safe
@role_required("member")
def collect(request: HttpRequest) -> HttpResponse:
    """What each heap may give, and what has been made and fetched."""
    return render(request, "heaps/collect.html", {"heaps": expected(timezone.now()), "so_far": bags_so_far()})
