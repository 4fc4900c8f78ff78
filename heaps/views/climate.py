"""The usual year at a site: the published one, or its own, typed or from a file."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dates import MONTHS as NAMES
from django.utils.translation import gettext as _

from heaps.climate_form import MonthsForm, TableForm
from heaps.models import KeptForecast, OwnClimate, Site
from heaps.science.climate import UK_MONTHS, UK_SOURCE, Month
from heaps.science.feedstocks import SOURCES
from heaps.stewards import coordinates
from members.access import read_or_send

LATEST = 10


@read_or_send
@coordinates(Site, lambda this: this)
@transaction.atomic
def climate(request: HttpRequest, site: Site) -> HttpResponse:
    """Keep twelve months, or take the published ones again. What was decided before stays in the list."""
    said = request.POST.get("says", "") if request.method == "POST" else ""
    if said == "published":
        _keep(site, [], "")
        messages.success(request, _("The published figures hold again."))
        return redirect("heaps:climate", site.uid)
    last = site.climates.order_by("pk").last()
    forms = _forms(request, said, last)
    sent = forms.get(said)
    if sent and sent.is_valid():
        _keep(site, sent.months(), sent.cleaned_data["source"])
        messages.success(request, _("Kept. The next forecasts reckon with it."))
        return redirect("heaps:climate", site.uid)
    context = {
        "site": site,
        **forms,
        "own": last if last and last.months else None,
        "published": [(NAMES[number], *month) for number, month in enumerate(UK_MONTHS, 1)],
        "source": SOURCES[UK_SOURCE],
        "decided": site.climates.order_by("-pk")[:LATEST],
    }
    return render(request, "set_up/climate.html", context)


def _forms(request: HttpRequest, said: str, last: OwnClimate | None) -> dict[str, Any]:
    """Both forms; the one that was sent has what was typed."""
    own = [(air / 10, rain / 10) for air, rain in last.months] if last else []
    months = request.POST if said == "months" else None
    table = (request.POST, request.FILES) if said == "table" else ()
    return {
        "months": MonthsForm(months, now=own or UK_MONTHS, initial={"source": last.source if last else ""}),
        "table": TableForm(*table),
    }


def _keep(site: Site, months: Sequence[Month], source: str) -> None:
    """A new decision. What was forecast by the one before is made anew when the timer comes."""
    tenths = [[round(air * 10), round(rain * 10)] for air, rain in months]
    site.climates.create(months=tenths, source=source, decided_at=timezone.now())
    KeptForecast.objects.filter(bay__site=site).update(carried=KeptForecast.OLD)
