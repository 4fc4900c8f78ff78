"""What stands in store at each site, and what a site calls for."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.db.models import TextField
from django.db.models.functions import Cast
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from heaps import history, ledger
from heaps.board import adding
from heaps.board.board import what_is_used
from heaps.board.heap_add import add_to, in_store
from heaps.calls import in_words, next_saturday, open_calls, to_send
from heaps.foretold import foretold_of
from heaps.models import Call, Site, known_materials
from heaps.stewards import coordinates
from heaps.terms_forms import CallForm
from members.access import read_or_send, role_required


@require_safe
@role_required("member")
def stock(request: HttpRequest) -> HttpResponse:
    """Every site's store by its last counts, and what is called for. No names stand here."""
    now, materials = timezone.now(), known_materials()
    sites = Site.objects.annotate(counted=Cast("store__counted", TextField())).prefetch_related("calls")
    used = what_is_used({site.pk for site in sites}, materials)
    sheds = adding.sheds({site.pk: site.counted for site in sites}, used, materials)
    context = {
        "sites": [
            (
                site,
                in_store(site, sheds[site.pk].held, now, materials),
                [in_words(one) for one in open_calls(site.calls.all(), site.day_of(now))],
            )
            for site in sites
        ],
    }
    return render(request, "heaps/stock.html", context)


@read_or_send
@coordinates(Site, lambda this: this)
@transaction.atomic
def calls(request: HttpRequest, site: Site) -> HttpResponse:
    """Ask everybody for something, send it on, take it down."""
    today = site.day_of(timezone.now())
    if request.POST.get("says") == "down":
        site.calls.filter(pk__in=[which] if (which := _number(request.POST.get("which", ""))) else []).delete()
        messages.success(request, _("It is down."))
        return redirect("heaps:calls", site.uid)
    form = CallForm(today, request.POST or None, initial=_first_words(request, site))
    if request.method == "POST" and form.is_valid():
        said = {name: form.cleaned_data[name] for name in ("words", "until")}
        made = Call.objects.create(site=site, says=said["words"], until=said["until"], made_at=timezone.now())
        return redirect(f"{reverse('heaps:calls', args=[site.uid])}?told={made.pk}")
    here = open_calls(site.calls.all(), today)
    address = request.build_absolute_uri(reverse("heaps:public_site", args=[site.uid]))
    told = [to_send(one, address) for one in here if one.pk == _number(request.GET.get("told", ""))]
    context = {"site": site, "form": form, "calls": [(one, in_words(one)) for one in here], "told": told}
    return render(request, "heaps/calls.html", context)


def _first_words(request: HttpRequest, site: Site) -> dict[str, Any]:
    """What a heap's advice lacks, in words that may be changed."""
    now = timezone.now()
    until = next_saturday(site.day_of(now))
    asked = request.GET.get("heap", "")
    bay = next((one for one in site.bays.all() if str(one.uid) == asked), None)
    if bay is None:
        return {"until": until}
    state = history.current_states([site.pk]).get(str(bay.uid), ledger.BayState())
    add = add_to(bay, state, foretold_of(bay.pk, state.batch), now, known_materials())
    if add is None or add.behind or not add.missing:
        return {"until": until}
    words = _("We need %(what)s at %(site)s.") % {"what": add.missing, "site": site}
    return {"until": until, "words": words[: Call._meta.get_field("says").max_length]}


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
