"""Who is coordinator of one site: given and taken away by whoever looks after all of them."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from heaps.forms import StewardForm
from heaps.models import Site, Stewardship
from members import sessions
from members.access import proof_required, read_or_send, role_required


@read_or_send
@role_required("coordinator", "administrator")
@proof_required()
def coordinators(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """The coordinators of one site; a POST adds one, or takes the role from one."""
    site = get_object_or_404(Site, uid=uid)
    if "take_away" in request.POST:
        return _take_away(request, site)
    form = StewardForm(site, request.POST or None)
    if request.method == "POST" and form.is_valid():
        _one, is_new = Stewardship.objects.get_or_create(site=site, member=form.cleaned_data["person"])
        said = {"name": form.cleaned_data["person"], "site": site}
        messages.success(request, _("%(name)s is a coordinator of %(site)s now.") % said)
        if is_new:
            sessions.begin_anew(form.cleaned_data["person"])
            messages.info(request, sessions.SIGNS_IN_ANEW % said)
        return redirect("heaps:coordinators", site.uid)
    there = site.stewardships.select_related("member").order_by("member__name", "pk")
    return render(request, "set_up/coordinators.html", {"form": form, "site": site, "there": there})


def _take_away(request: HttpRequest, site: Site) -> HttpResponse:
    one = site.stewardships.filter(member__uid=_uid(request.POST["take_away"])).select_related("member").first()
    if one is not None:  # two may press the button at once
        one.delete()
        said = {"name": one.member, "site": site}
        messages.success(request, _("%(name)s is no longer a coordinator of %(site)s.") % said)
    return redirect("heaps:coordinators", site.uid)


def _uid(text: str) -> uuid.UUID:
    try:
        return uuid.UUID(text)
    except ValueError:
        raise Http404 from None
