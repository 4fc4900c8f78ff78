"""Setting up the ground: sites, bays, containers, and what already lies in a bay."""

import uuid
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from heaps import history
from heaps.forms import BayForm, ContainerForm, OpeningForm, SiteForm
from heaps.models import Bay, Container, ContainerWas, Entry, Ledger, Parked, Site, StoredBay, known_materials
from heaps.stewards import Care, care_of, coordinates, coordinators
from heaps.sync import Receipt, Sending, accept
from heaps.weighings import with_container
from heaps.wire import WIRE
from members.access import role_required, signed_in
from members.models import Cooperative, Member

read_or_send = require_http_methods(["GET", "HEAD", "POST"])
at_site = coordinates(Site, lambda this: this)
at_bay = coordinates(Bay, lambda this: this.site)
at_container = coordinates(Container, lambda this: this.site)


@require_safe
@coordinators
def set_up(request: HttpRequest) -> HttpResponse:
    """What is there, and what is missing next."""
    care = care_of(signed_in(request))
    sites = list(care.of(Site.objects.prefetch_related("bays__stored", "containers"), "pk"))
    context = {
        "cooperative": Cooperative.objects.first(),
        "sites": sites,
        "missing": _missing(sites, care),
        "people": Member.objects.filter(is_active=True).count(),
    }
    return render(request, "set_up/overview.html", context)


def _missing(sites: list[Site], care: Care) -> str:
    """The next thing to do before the first drop-off, or nothing."""
    if not sites:
        return _("Next: add the first site.")
    for site in sites:
        if not site.bays.all():
            return _("Next: add the bays of %(site)s, in their order from the gate.") % {"site": site}
        if not site.containers.all():
            return _("Next: add what loads come in at %(site)s: buckets, sacks, barrows.") % {"site": site}
    if care.everywhere and not Member.objects.filter(is_active=True, is_administrator=False).exists():
        return _("Next: add the people who record and look after the heaps.")
    return ""


@read_or_send
@role_required("administrator")
def add_site(request: HttpRequest) -> HttpResponse:
    """A new site."""
    form = SiteForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        form.save()
        return redirect("heaps:set_up")
    return _form_page(request, form, _("A new site"), _("Add"))


@read_or_send
@role_required("administrator")
@transaction.atomic
def site(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """A site's name and clock. On another clock, loads near midnight fall on other days."""
    place = get_object_or_404(Site, uid=uid)
    form = SiteForm(request.POST or None, instance=place)
    if request.method == "POST" and form.is_valid():
        form.save()
        if "time_zone" in form.changed_data:
            history.rebuild(place)
        return redirect("heaps:set_up")
    return _form_page(request, form, _("A site"), _("Keep"))


@read_or_send
@at_site
def add_bay(request: HttpRequest, place: Site) -> HttpResponse:
    """A new bay; its place in the row is offered as the next one."""
    last = place.bays.order_by("position").last()
    offered = {"position": last.position + 1 if last else 1, "name": _("Bay %s") % (place.bays.count() + 1)}
    form = BayForm(request.POST or None, instance=Bay(site=place), initial=offered)
    if request.method == "POST" and form.is_valid():
        form.save()
        return redirect("heaps:set_up")
    return _form_page(request, form, _("A new bay at %(site)s") % {"site": place}, _("Add"))


@read_or_send
@at_bay
def bay(request: HttpRequest, this: Bay) -> HttpResponse:
    """A bay's name, place and measures."""
    form = BayForm(request.POST or None, instance=this)
    if request.method == "POST" and form.is_valid():
        form.save()
        return redirect("heaps:set_up")
    context = {"form": form, "bay": this, "used": _used(this)}
    return render(request, "set_up/bay.html", context)


@require_POST
@at_bay
@transaction.atomic
def take_bay_away(request: HttpRequest, this: Bay) -> HttpResponse:
    """Take away a bay nobody has recorded anything for."""
    list(Ledger.objects.select_for_update())  # nothing is recorded for it meanwhile
    if _used(this):
        messages.error(request, _("%(bay)s is in the ledger and stays. It can be renamed.") % {"bay": this})
        return redirect("heaps:bay", uid=this.uid)
    this.delete()
    messages.success(request, _("%(bay)s is taken away.") % {"bay": this})
    return redirect("heaps:set_up")


def _used(this: Bay) -> bool:
    """Whether the ledger, or an entry that a coordinator has yet to place, names the bay."""
    named = Q(bay=this) | Q(details__icontains=str(this.uid))
    return (
        StoredBay.objects.filter(bay=this).exists()
        or Entry.objects.filter(named).exists()
        or Parked.objects.filter(raw__icontains=str(this.uid)).exists()
    )


@read_or_send
@at_bay
def opening(request: HttpRequest, this: Bay) -> HttpResponse:
    """What already lies in a bay on its first day here."""
    if not _empty(this):
        return render(request, "set_up/opening_over.html", {"bay": this})
    form = OpeningForm(this, request.POST or None, initial={"uid": uuid.uuid4()})
    if request.method == "POST" and form.is_valid():
        receipt = _record_opening(request, form)
        if receipt.state in ("accepted", "known"):
            messages.success(request, _("Kept: what already lies in %(bay)s.") % {"bay": this})
            return redirect("heaps:set_up")
        form.add_error(None, receipt.reason)
    return render(request, "set_up/opening.html", {"form": form, "bay": this})


def _empty(this: Bay) -> bool:
    stored = StoredBay.objects.filter(bay=this).first()
    return stored is None or stored.state["batch"] is None


def _record_opening(request: HttpRequest, form: OpeningForm) -> Receipt:
    """Through the same door as a phone's entries."""
    now = timezone.now()
    entry = {
        "wire": WIRE,
        "uid": str(form.cleaned_data["uid"]),
        "kind": "opening",
        "site": str(form.bay.site.uid),
        "bay": str(form.bay.uid),
        "occurred_at": now.isoformat(),
        "details": form.details(),
    }
    (receipt,) = accept([entry], Sending(signed_in(request), None, sent_at=now))
    return receipt


@read_or_send
@at_site
def add_container(request: HttpRequest, place: Site) -> HttpResponse:
    """A new container."""
    form = ContainerForm(request.POST or None, instance=Container(site=place))
    if request.method == "POST" and form.is_valid():
        form.save()
        return redirect("heaps:set_up")
    return _form_page(request, form, _("A new container at %(site)s") % {"site": place}, _("Add"))


@read_or_send
@at_container
@transaction.atomic
def container(request: HttpRequest, this: Container) -> HttpResponse:
    """A container's name and size. Loads already recorded keep the size they had."""
    was = ContainerWas(container=this, until=timezone.now(), litres=this.litres, fill_per_cent=this.fill_per_cent)
    form = ContainerForm(request.POST or None, instance=this)
    if request.method == "POST" and form.is_valid():
        form.save()
        if {"litres", "fill_per_cent"} & set(form.changed_data):
            was.save()
        return redirect("heaps:set_up")
    known = known_materials()
    weighed = [(_(known[key].short), one) for key, one in with_container(str(this.uid)) if key in known]
    context = {"form": form, "container": this, "was": this.was.all(), "weighed": weighed}
    return render(request, "set_up/container.html", context)


@require_POST
@at_container
@transaction.atomic
def take_container_away(request: HttpRequest, this: Container) -> HttpResponse:
    """Take away a container. Loads recorded with it carry their own size; they only count as in no container."""
    list(Ledger.objects.select_for_update())  # first, as a letter does: else each would wait for the other
    this.delete()
    history.rebuild(this.site)
    messages.success(request, _("%(container)s is taken away.") % {"container": this})
    return redirect("heaps:set_up")


def _form_page(request: HttpRequest, form: Any, heading: str, button: str) -> HttpResponse:
    return render(request, "set_up/form.html", {"form": form, "heading": heading, "button": button})
