"""Packs pages that are the same for everybody as small as browsers understand; the rest is left to Django's gzip.

Brotli packs the recording page to six sevenths of what gzip does. It goes to pages only that ask for no cookie: there
is nothing secret in those that the packed length could tell. Gzip adds a random length to the others (BREACH).
"""

import re
from collections.abc import Callable
from functools import lru_cache

import brotli
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.cache import has_vary_header, patch_vary_headers

TAKES_BROTLI = re.compile(r"\bbr\b(?!\s*;\s*q=0(\.0*)?\s*(,|$))")
#: Of 11. Tried on the recording page, 51 kB: 9 packs it to 13.4 kB in 13 ms, 10 to 12.3 kB in 25 ms, 11 to 12.1 kB in
#: 64 ms.
QUALITY = 10
#: Shorter ones would not shrink (as Django's gzip has it).
LEAST_BYTES = 200
Answer = Callable[[HttpRequest], HttpResponseBase]


class PackingMiddleware:
    """Stands outside the sessions, whose answers say whether a cookie was looked at, and inside gzip."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """The answer, packed if it may be and the browser takes it."""
        response = self.get_response(request)
        if not isinstance(response, HttpResponse) or not _is_for_everybody(response):
            return response
        patch_vary_headers(response, ["Accept-Encoding"])
        if TAKES_BROTLI.search(request.headers.get("Accept-Encoding", "")):
            response.content = packed(response.content)
            response["Content-Encoding"] = "br"
            response["Content-Length"] = str(len(response.content))
        return response


@lru_cache(maxsize=64)
def packed(content: bytes) -> bytes:
    """The same page again, of the guide for example, is packed once."""
    short: bytes = brotli.compress(content, quality=QUALITY, mode=brotli.MODE_TEXT)
    return short


def _is_for_everybody(response: HttpResponse) -> bool:
    return (
        response.get("Content-Type", "").startswith("text/html")
        and len(response.content) >= LEAST_BYTES
        and not response.cookies
        and not has_vary_header(response, "Cookie")
        and not response.has_header("Content-Encoding")
    )
