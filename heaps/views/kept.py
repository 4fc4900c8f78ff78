"""What a phone keeps, and a way to carry it off. Like the recording pages it is the same for everybody."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from heaps import gate, phone_words


@require_safe
@cache_control(no_cache=True)
def kept(request: HttpRequest) -> HttpResponse:
    """The page, which finds on the phone what it shows."""
    known = {"now": gate.ground(timezone.now()), "feedstocks": gate.feedstocks(), "words": phone_words.kept()}
    return render(request, "heaps/kept.html", known)
