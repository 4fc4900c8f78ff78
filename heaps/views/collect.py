"""Bags: how many there are, when and how many more to expect."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.bags import stores
from heaps.collection import bags_so_far, expected
from members.access import role_required


@require_safe
@role_required("member")
def collect(request: HttpRequest) -> HttpResponse:
    """What stands in store, what each heap may give, and what has been made and fetched."""
    context = {"heaps": expected(timezone.now()), "so_far": bags_so_far(), "stores": stores()}
    return render(request, "heaps/collect.html", context)
