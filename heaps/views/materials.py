"""The cooperative's materials: the list, one of its own, and what it decides about each."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from heaps import own_values
from heaps.models import OwnValue, known_materials
from heaps.own_forms import (
    DensityForm,
    FigureForm,
    GateForm,
    NameForm,
    OwnMaterialForm,
    figures_of,
    stricter_words,
)
from heaps.science.feedstocks import FEEDSTOCKS, Feedstock, Value
from heaps.science.materials import DENSITY, FIGURES, OWN, Materials
from heaps.weighings import Weighings, next_to_weigh, weighings
from members.access import read_or_send, role_required

FORMS = {form.says: form for form in (DensityForm, FigureForm, NameForm, GateForm)}
#: What a page of confirmation sends again.
TYPED = ("says", "which", "number", "holds", "day", "figure", "words", "chosen", "reason")
LATEST = 30
A_YEAR, A_DAY = timedelta(days=365), timedelta(days=1)
everywhere = role_required("coordinator", "administrator")


@require_safe
@everywhere
def materials(request: HttpRequest) -> HttpResponse:
    """Own materials, own values, what was weighed, and the whole list."""
    known = known_materials()
    told, found, today = own_values.decided(), weighings(), timezone.localdate()
    touched = {one.value.feedstock for one in told}
    context = {
        "own": [(known[key], key in known.withdrawn, known.listed[like]) for key, like in known.relatives.items()],
        "touched": [known[key] for key in FEEDSTOCKS if key in touched],
        "weighed": [(known[key], here) for key, here in sorted(found.items()) if key in known],
        "to_weigh": next_to_weigh(today - A_YEAR, today + A_DAY, found),
        "known": sorted((known[key] for key in FEEDSTOCKS), key=lambda one: one.short.lower()),
        "decided": told[:LATEST],
    }
    return render(request, "set_up/materials.html", context)


@read_or_send
@everywhere
@transaction.atomic
def add_material(request: HttpRequest) -> HttpResponse:
    """A material of one's own, from its nearest relative."""
    form = OwnMaterialForm(known_materials(), request.POST or None)
    look = None
    if request.method == "POST" and form.is_valid():
        decisions = form.decisions()
        look = own_values.keep(decisions, request.POST.get("seen", ""))
        if look is None:
            messages.success(request, _("%(name)s is on the list now.") % {"name": form.cleaned_data["name"]})
            return redirect("heaps:material", decisions[0].feedstock)
    return render(request, "set_up/add_material.html", {"form": form, "look": look})


@read_or_send
@everywhere
@transaction.atomic
def material(request: HttpRequest, key: str) -> HttpResponse:
    """One material: what is published, what holds here, and the forms to change it. Each says in `says` which it is."""
    known = known_materials()
    if key not in known:
        raise Http404
    said = request.POST.get("says", "") if request.method == "POST" else ""
    found = weighings().get(key)
    forms = {one: _form(request, known, known[key], one, said, found) for one in FORMS}
    decision = _decision(request, known[key], said, forms)
    if decision is None:
        return render(request, "set_up/material.html", {**_shown(known, key, found), **forms})
    look = own_values.keep([decision], request.POST.get("seen", ""))
    if look is None:
        messages.success(request, _("Kept."))
        return redirect("heaps:material", key)
    typed = [(name, request.POST[name]) for name in TYPED if name in request.POST]
    context = {"stuff": known[key], "look": look, "typed": typed, "changed": "seen" in request.POST}
    return render(request, "set_up/material_confirm.html", context)


def _form(
    request: HttpRequest, known: Materials, stuff: Feedstock, says: str, said: str, found: Weighings | None
) -> Any:
    """One of the forms; that which was sent has what was typed, and the density offers what was weighed."""
    initial: dict[str, Any] = {"day": timezone.now().date()}
    if found and "weighed" in request.GET:
        counted = {"count": len(found.each), "least": found.least_kg_m3, "most": found.most_kg_m3}
        initial["number"] = found.mean_kg_m3
        initial["reason"] = _("weighed %(count)s times: %(least)s to %(most)s kg") % counted
    return FORMS[says](known, stuff, request.POST if says == said else None, initial=initial)


def _decision(request: HttpRequest, stuff: Feedstock, said: str, forms: dict[str, Any]) -> OwnValue | None:
    """What was decided; nothing where nothing was, or where a form needs another look."""
    if said in forms:
        return forms[said].decision() if forms[said].is_valid() else None
    make = FURTHER.get(said)
    figure, chosen = make(request, stuff) if make else ("", "")
    return OwnValue(feedstock=stuff.key, figure=figure, chosen=chosen, decided_at=timezone.now()) if figure else None


def _back(request: HttpRequest, stuff: Feedstock) -> tuple[str, str]:
    """The published one again. An own material has no published name."""
    which = request.POST.get("which", "")
    own_name = which == OwnValue.Figure.NAME and stuff.key.startswith(OWN)
    return (which if which in BACK and not own_name else "", "")


def _offer(chosen: str) -> Callable[[HttpRequest, Feedstock], tuple[str, str]]:
    def offer(request: HttpRequest, stuff: Feedstock) -> tuple[str, str]:
        return (OwnValue.Figure.OFFERED if stuff.key.startswith(OWN) else "", chosen)

    return offer


BACK = {*FIGURES, OwnValue.Figure.NAME, OwnValue.Figure.GATE}
FURTHER = {"back": _back, "withdraw": _offer("no"), "offer": _offer("yes")}


def _shown(known: Materials, key: str, found: Weighings | None) -> dict[str, Any]:
    """What a material's page shows beside its forms."""
    stuff, listed = known[key], known.listed[key]
    return {
        "stuff": stuff,
        "listed": listed,
        "figures": [_figure(one, stuff) for one in figures_of(listed)],
        "is_own": key in known.relatives,
        "withdrawn": key in known.withdrawn,
        "can_be_stricter": bool(stricter_words(listed.acceptance)),
        "weighings": found,
        "would": _would(key, found) if found and listed.density_kg_m3 else None,
        "decided": own_values.decided(key),
    }


def _figure(one: str, stuff: Feedstock) -> dict[str, Any]:
    """A figure as it holds today, beside the published one."""
    figure = FIGURES[one]
    value = figure.published(stuff)
    assert value  # noqa: S101 - only figures that the material has are asked for
    published = value.published or value
    low, typical, high = (own_values.in_units(one, end * figure.scale) for end in _ends(published))
    return {
        "figure": one,
        "label": OwnValue.Figure(one).label,
        "now": own_values.in_units(one, value.typical * figure.scale),
        "is_own": value.published is not None,
        "reason": value.source,
        "published": typical,
        "range": (low, high),
        "source": published.source,
        "evidence": published.evidence,
    }


def _ends(value: Value) -> tuple[float, float, float]:
    return value.low, value.typical, value.high


def _would(key: str, found: Weighings) -> own_values.Outlook:
    """What the weighed density would do if it held for all loads."""
    return own_values.outlook(
        OwnValue(feedstock=key, figure=DENSITY, number=found.mean_kg_m3, decided_at=timezone.now())
    )
