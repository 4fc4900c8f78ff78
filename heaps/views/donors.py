"""The register of who gives."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from heaps import donors as giving
from heaps.forms import DonorForm
from heaps.models import Donor, Site
from heaps.stewards import care_of, coordinates, coordinators
from members.access import signed_in

read_or_send = require_http_methods(["GET", "HEAD", "POST"])
#: One that gives to every site is looked after by those who coordinate all of them.
at_donor = coordinates(Donor, lambda this: this.site or Site())


@require_safe
@coordinators
def donors(request: HttpRequest) -> HttpResponse:
    """Everybody who gives or gave."""
    found = [(one, giving.name_of(one)) for one in giving.register(care_of(signed_in(request)))]
    return render(request, "set_up/donors.html", {"donors": found})


@read_or_send
@coordinators
def add_donor(request: HttpRequest) -> HttpResponse:
    """Somebody new who gives."""
    form = _form(request, initial={"gives": True})
    if request.method == "POST" and form.is_valid():
        form.save()
        return redirect("heaps:donors")
    return render(request, "set_up/add_donor.html", {"form": form})


@read_or_send
@at_donor
def donor(request: HttpRequest, this: Donor) -> HttpResponse:
    """Who it is, and what they gave so far."""
    name, gone = giving.name_of(this), giving.is_erased(this)
    form = None if gone else _form(request, instance=this)
    if request.method == "POST" and form and form.is_valid():
        form.save()
        messages.success(request, _("Kept."))
        return redirect("heaps:donor", uid=this.uid)
    gifts = giving.gifts(this)
    whole = giving.together(gifts.by_material)
    context = {"donor": this, "name": name, "form": form, "gifts": gifts, "whole": whole}
    return render(request, "set_up/donor.html", context)


@require_POST
@at_donor
def erase_donor(request: HttpRequest, this: Donor) -> HttpResponse:
    """Take the contact, or the name too, off a donor who asks for it."""
    said = request.POST.get("says", "")
    if said == "contact":
        giving.erase_contact(this)
        messages.success(request, _("The contact is erased."))
    elif said == "name":
        giving.erase(this)
        messages.success(request, _("Erased. What it gave keeps its kind."))
    else:
        raise Http404
    return redirect("heaps:donor", uid=this.uid)


def _form(request: HttpRequest, **given: Any) -> DonorForm:
    care = care_of(signed_in(request))
    return DonorForm(care.of(Site.objects.all(), "pk"), care.everywhere, request.POST or None, **given)
