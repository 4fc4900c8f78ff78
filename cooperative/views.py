"""The pages that say what went wrong and what to do."""

import sys

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template import loader
from django.utils.cache import add_never_cache_headers

from cooperative import resting


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """For whoever lacks a role."""
    return _unkept(render(request, "403.html", status=403))


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """For an address that leads nowhere."""
    return _unkept(render(request, "404.html", status=404))


def broken(request: HttpRequest) -> HttpResponse:
    """For a fault of ours. It asks neither the database nor the session, which may be what is broken.

    Django calls this while it handles the fault, wherever it arose, so that it can be looked at.
    """
    if resting.rests(sys.exc_info()[1]):
        return _unkept(resting.come_back(request))
    return _unkept(HttpResponse(loader.get_template("500.html").render(), status=500))


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """For a form that was opened before a sign-in, or in a browser that keeps no cookies."""
    return _unkept(render(request, "403.html", {"form_too_old": True}, status=403))


def _unkept(response: HttpResponse) -> HttpResponse:
    add_never_cache_headers(response)
    return response
