"""The papers of each site, what lies there against its caps, and which local rules to ask about."""

import uuid
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.models import Cap, Papers, Site
from heaps.permissions import held
from heaps.science.feedstocks import SOURCES
from heaps.terms_forms import CapForm, PapersForm
from members.access import read_or_send, role_required

#: What the page's few facts rest on.
RESTS_ON = ("T23", "APHA-HEAP", "NETREGS", "KNOT")


@require_safe
@role_required("coordinator", "administrator")
def permissions(request: HttpRequest) -> HttpResponse:
    """Every site's papers and stock."""
    sites = Site.objects.select_related("papers").prefetch_related("caps", "bays__stored")
    context = {"held": held(sites, timezone.now()), "sources": [SOURCES[one] for one in RESTS_ON]}
    return render(request, "set_up/permissions.html", context)


@read_or_send
@role_required("coordinator", "administrator")
@transaction.atomic
def site_permissions(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """One site's papers and caps. Each form says in `says` which it is."""
    site = get_object_or_404(Site, uid=uid)
    said = request.POST.get("says", "") if request.method == "POST" else ""
    forms: dict[str, Any] = {
        "papers": PapersForm(request.POST if said == "papers" else None, instance=_papers(site)),
        "cap": CapForm(request.POST if said == "cap" else None, instance=Cap(site=site)),
    }
    if _kept(request, site, said, forms):
        return redirect("heaps:site_permissions", site.uid)
    (here,) = held(Site.objects.filter(pk=site.pk).prefetch_related("caps", "bays__stored"), timezone.now())
    return render(request, "set_up/site_permissions.html", {"site": site, "here": here, **forms})


def _papers(site: Site) -> Papers:
    return Papers.objects.filter(site=site).first() or Papers(site=site)


def _kept(request: HttpRequest, site: Site, said: str, forms: dict[str, Any]) -> bool:
    """Whether what was sent is kept."""
    if said == "away":
        kind, _slash, unit = request.POST.get("which", "").rpartition("/")
        site.caps.filter(feedstock=kind, unit=unit).delete()
        return True
    form = forms.get(said)
    if form is None or not form.is_valid():
        return False
    if said == "papers":
        form.save()
        return True
    named = {"feedstock": form.cleaned_data["feedstock"], "unit": form.cleaned_data["unit"]}
    Cap.objects.update_or_create(site=site, **named, defaults={"most": form.cleaned_data["typed"]})
    return True
