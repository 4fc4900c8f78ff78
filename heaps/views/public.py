"""The page behind a bay's printed code: for anybody, without sign-in, cookie or name."""

import uuid
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from heaps.board import BayNow, sites_now
from heaps.calls import in_words, open_calls
from heaps.collection import Expected, expected
from heaps.gate import offered_first
from heaps.house_rules import accepted_as, notices
from heaps.models import Bay, GateRule, Site, Use, known_materials
from heaps.science.materials import Materials

HOUR_S = 3600
#: What is brought by mistake most often (common practice); the whole list is the guide's.
OFTEN_WRONG = ("meat-fish", "cooked-food", "bread", "dairy", "dog-cat", "coated-card", "compostable-plastic")
#: What a leaf bin takes: leaves that turn to leaf mould by themselves (the guide's chapter on it).
LEAVES = ("leaves-mixed", "leaves-wet", "leaves-oak", "leaves-beech", "leaves-quick", "leaves-thick")


@require_safe
@cache_control(public=True, max_age=HOUR_S)
def site(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """A site and its bays."""
    place = get_object_or_404(Site, uid=uid)
    return render(request, "public/site.html", _of_site(request, place))


@require_safe
@cache_control(public=True, max_age=HOUR_S)
def bay(request: HttpRequest, uid: uuid.UUID, bay: uuid.UUID) -> HttpResponse:
    """One bay: what goes in, what it needs, how far it is."""
    this = get_object_or_404(Bay.objects.select_related("site"), uid=bay, site__uid=uid)
    context = _of_site(request, this.site, LEAVES if this.kind == Bay.Kind.LEAF else ())
    ((now, _is_full, ahead),) = (one for one in context["bays"] if one[0].bay.uid == str(this.uid))
    return render(request, "public/bay.html", {**context, "bay": this, "bay_now": now, "ahead": ahead})


def _of_site(request: HttpRequest, place: Site, keys: Iterable[str] = ()) -> dict[str, Any]:
    """What its pages say. `keys` are the materials to name, else what is brought here most."""
    materials = known_materials()
    now = timezone.now()
    rules = list(place.gate_rules.all())
    wanted = {key: accepted_as(key, rules, materials) for key in keys or _usual(place, materials)}
    return {
        "site": place,
        "now": now,
        "host": request.get_host(),
        "bays": _bays(place, now),
        "calls": [in_words(one) for one in open_calls(place.calls.all(), place.day_of(now))],
        "notices": notices(place.pauses.all(), place.day_of(now)),
        "goes_in": [(_(materials[key].short), *told) for key, told in wanted.items() if told[0] != "never"],
        "stays_out": _stays_out(rules, materials),
    }


def _bays(place: Site, now: datetime) -> list[tuple[BayNow, bool, Expected | None]]:
    """The bays as they stand, each with whether somebody marked it full, and what may come out of it."""
    ahead = {one.bay_uid: one for one in expected(now, place)}
    full = {str(uid) for uid in place.bays.filter(is_full=True).values_list("uid", flat=True)}
    here = (one for one in sites_now(now) if one.pk == place.pk)
    return [(bay, bay.bay.uid in full, ahead.get(bay.bay.uid)) for one in here for bay in one.bays]


def _usual(place: Site, materials: Materials) -> list[str]:
    """What is brought here most."""
    return offered_first(list(Use.objects.filter(site=place, loads__gt=0).order_by("-loads", "pk")), materials)


def _stays_out(rules: Iterable[GateRule], materials: Materials) -> list[tuple[str, str]]:
    """What never goes in: what is ruled out here, and what is brought by mistake most often."""
    ruled_out = (rule.feedstock for rule in rules if rule.feedstock in materials)
    told = {key: accepted_as(key, rules, materials) for key in (*ruled_out, *materials.strict_since, *OFTEN_WRONG)}
    return [(_(materials[key].short), why) for key, (word, why) in told.items() if word == "never"]
