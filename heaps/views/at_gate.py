"""What a site asks for at its gate: stricter rules, bays that are full, pauses, and when it is open."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from heaps.models import GateRule, Pause, Site, known_materials
from heaps.science.materials import Materials
from heaps.stewards import coordinates
from heaps.terms_forms import OpenTimesForm, PauseForm, RuleForm
from members.access import read_or_send

Forms = dict[str, Any]


@read_or_send
@coordinates(Site, lambda this: this)
@transaction.atomic
def at_gate(request: HttpRequest, site: Site) -> HttpResponse:
    """The rules of one site. Each form says in `says` which it is."""
    said = request.POST.get("says", "") if request.method == "POST" else ""
    forms = _forms(request, site, said)
    keep = KEEPERS.get(said)
    if keep and keep(request, site, forms):
        return redirect("heaps:at_gate", site.uid)
    materials = known_materials()
    context = {
        "site": site,
        **forms,
        "rules": [(rule, _(materials[rule.feedstock].short)) for rule in _known(site, materials)],
        "pauses": site.pauses.filter(until__gte=_today(site)),
        "bays": site.bays.all(),
    }
    return render(request, "set_up/at_gate.html", context)


def _forms(request: HttpRequest, site: Site, said: str) -> Forms:
    """The three forms; the one that was sent has what was typed."""
    typed = {one: request.POST if said == one else None for one in ("times", "rule", "pause")}
    # a form that does not pass writes what was typed into its row: so not into the row that the page shows
    return {
        "times": OpenTimesForm(typed["times"], instance=Site.objects.get(pk=site.pk)),
        "rule": RuleForm(typed["rule"], instance=GateRule(site=site, since=timezone.now())),
        "pause": PauseForm(_today(site), typed["pause"], instance=Pause(site=site)),
    }


def _keep_times(request: HttpRequest, site: Site, forms: Forms) -> bool:
    if forms["times"].is_valid():
        forms["times"].save()
    return bool(forms["times"].is_valid())


def _keep_rule(request: HttpRequest, site: Site, forms: Forms) -> bool:
    """A new rule takes the place of the one that the site had for that material."""
    if not forms["rule"].is_valid():
        return False
    said = forms["rule"].cleaned_data
    new = {"acceptance": said["acceptance"], "reason": said["reason"], "since": timezone.now()}
    GateRule.objects.update_or_create(site=site, feedstock=said["feedstock"], defaults=new)
    return True


def _keep_pause(request: HttpRequest, site: Site, forms: Forms) -> bool:
    if not forms["pause"].is_valid():
        return False
    said = forms["pause"].cleaned_data
    new = {"until": said["until"], "reason": said["reason"]}
    Pause.objects.update_or_create(site=site, what=said["what"], defaults=new)
    return True


def _drop_rule(request: HttpRequest, site: Site, forms: Forms) -> bool:
    site.gate_rules.filter(feedstock=request.POST.get("which", "")).delete()
    return True


def _drop_pause(request: HttpRequest, site: Site, forms: Forms) -> bool:
    site.pauses.filter(what=request.POST.get("which", "")).delete()
    return True


def _mark(is_full: bool) -> "Keeper":
    def mark(request: HttpRequest, site: Site, forms: Forms) -> bool:
        named = request.POST.get("which", "")
        for bay in site.bays.all():
            if str(bay.uid) == named:
                bay.is_full = is_full
                bay.save(update_fields=["is_full"])
        return True

    return mark


def _known(site: Site, materials: Materials) -> list[GateRule]:
    return [rule for rule in site.gate_rules.all() if rule.feedstock in materials]


def _today(site: Site) -> date:
    return site.day_of(timezone.now())


Keeper = Callable[[HttpRequest, Site, Forms], bool]
KEEPERS: dict[str, Keeper] = {
    "times": _keep_times,
    "rule": _keep_rule,
    "pause": _keep_pause,
    "rule away": _drop_rule,
    "pause away": _drop_pause,
    "full": _mark(True),
    "room": _mark(False),
}
