"""The page for whoever has tried too often."""

import math
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.cache import add_never_cache_headers


def too_many(request: HttpRequest, again_at: datetime) -> HttpResponse:
    """When to try again, and which ways in are open meanwhile."""
    seconds = max(1, math.ceil((again_at - timezone.now()).total_seconds()))
    context = {"minutes": math.ceil(seconds / 60)}
    response = render(request, "members/too_many.html", context, status=429)
    response["Retry-After"] = str(seconds)
    add_never_cache_headers(response)
    return response
