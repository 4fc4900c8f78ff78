"""What goes in."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from heaps.guide import CAUTIONS, answers, sources


@require_safe
def guide(request: HttpRequest) -> HttpResponse:
    """For everybody, signed in or not. Phones keep this page."""
    words = request.GET.get("q", "")[:80]
    context = {"words": words, "answers": answers(words), "cautions": CAUTIONS, "sources": sources()}
    return render(request, "heaps/guide.html", context)
