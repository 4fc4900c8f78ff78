"""Codes to print and hang at the bays. Each holds an address and nothing else: scanning one signs nobody in."""

from typing import NamedTuple

import segno
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from heaps.models import Bay, Site
from heaps.stewards import coordinates

QUIET_ZONE = 4  # modules (ISO/IEC 18004)


class Code(NamedTuple):
    """One bay's sheet."""

    bay: Bay
    address: str
    picture: str


@require_safe
@coordinates(Bay, lambda this: this.site)
def bay_code(request: HttpRequest, this: Bay) -> HttpResponse:
    """The sheet of one bay."""
    return _sheets(request, this.site, [this])


@require_safe
@coordinates(Site, lambda this: this)
def site_codes(request: HttpRequest, site: Site) -> HttpResponse:
    """A sheet for each bay of a site."""
    return _sheets(request, site, list(site.bays.all()))


def _sheets(request: HttpRequest, site: Site, bays: list[Bay]) -> HttpResponse:
    codes = [_code(request, site, bay) for bay in bays]
    return render(request, "set_up/codes.html", {"site": site, "codes": codes, "host": request.get_host()})


def _code(request: HttpRequest, site: Site, bay: Bay) -> Code:
    address = request.build_absolute_uri(reverse("heaps:public_bay", args=[site.uid, bay.uid]))
    made = segno.make(address, error="q", micro=False)  # a quarter may be dirty or torn
    return Code(bay, address, made.svg_data_uri(border=QUIET_ZONE, scale=8, light="#fff"))
