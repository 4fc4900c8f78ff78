"""What is one tap behind a heap's page: its signs, its heat, whether it is ready. No names stand on any of them."""

import json
import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from heaps import guide, phone_words, rule_words
from heaps.advice_words import CAUSES, CAUTIONS, DEEDS, HOW, STAGES, TRIALS, USES, figure_of, shown_by
from heaps.heat_shown import heat_of
from heaps.models import Bay
from heaps.ready_shown import Shown, readiness_of
from heaps.science.diagnosis import Diagnosis, Likely, Says
from heaps.science.feedstocks import SOURCES
from heaps.science.readiness import LOOKS, SMELLS, Trial
from heaps.science.sanitation import Showing
from heaps.science.scales import DEWAR, DEWAR_WORDS, GERMINATION
from heaps.science.signs import Do
from heaps.signs_seen import ALSO, WITH_AMOUNT, entries_for, signs_of
from heaps.value_words import VALUE_WORDS
from members.access import role_required

#: On the page for something else: the panel of each test.
PANELS = {
    Trial.LOOK: "test-look", Trial.SMELL: "test-smell", Trial.NO_REHEATING: "test-heat", Trial.FLASK: "test-flask",
    Trial.GERMINATION: "test-cress",
}  # fmt: skip


@require_safe
@role_required("member")
def signs(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """What do you see? Each sign with its causes here and what to do; what was done is kept with one tap."""
    bay = _bay(uid)
    found = signs_of(bay, timezone.now())
    waiting = {key for one in found.again for key in one.keys}
    groups = [
        (title, [_sign(part, found.diagnoses[part.key], bay, part.key in waiting) for part in parts])
        for title, parts in guide.GROUPS
    ]
    context = {"groups": groups, "again": found.again, "is_empty": found.is_empty, "words": phone_words.at_heap()}
    return _page(request, bay, "signs", context)


@require_safe
@role_required("member")
def heat(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Was it hot enough? What the log shows of each published rule."""
    bay = _bay(uid)
    found = heat_of(bay, timezone.now())
    rules = {
        "met": [_rule(one) for one in found.met],
        "missing": [_rule(one) for one in found.missing],
        "not_here": [_rule(one) for one in found.not_for_open_bay],
    }
    context = {"heat": found, **rules, "one_probe": rule_words.one_probe(), "one_probe_source": SOURCES["KAMP24"]}
    return _page(request, bay, "heat", context)


@require_safe
@role_required("member")
def ready(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Is it ready? What each test showed, what is missing, what it may be used for meanwhile."""
    bay = _bay(uid)
    found = readiness_of(bay, timezone.now())
    context = {
        "ready": found,
        "tests": [_test(one) for one in found.tests],
        "use": USES[found.together.use],
        "missing": [TRIALS[trial] for trial in found.together.missing],
        "least": [TRIALS[trial] for trial in found.together.least],
        "looks": [(VALUE_WORDS["looks"][word], STAGES[stage]) for word, stage in LOOKS.items()],
        "smells": [(VALUE_WORDS["smells"][word], STAGES[stage]) for word, stage in SMELLS.items()],
        "flask": list(zip(DEWAR.classes, [*DEWAR.bounds, None], strict=True)),
        "flask_words": DEWAR_WORDS,
        "germination": list(zip(GERMINATION.classes[1:], GERMINATION.bounds, strict=True)),
        "sources": [SOURCES[key] for key in ("BRINTON95", "CCQC", "PAS100", "YPTE", "EXT-TS")],
    }
    return _page(request, bay, "ready", context)


def _bay(uid: uuid.UUID) -> Bay:
    return get_object_or_404(Bay.objects.select_related("site"), uid=uid)


def _page(request: HttpRequest, bay: Bay, name: str, context: dict[str, Any]) -> HttpResponse:
    return render(request, f"heaps/heap_{name}.html", {"bay": bay, "time": timezone.now(), **context})


def _sign(part: guide.Part, found: Diagnosis, bay: Bay, waits: bool) -> dict[str, Any]:
    """One sign: the guide's words, the causes by this heap's numbers, and what a tap keeps."""
    return {
        "part": part,
        "waits": waits,
        "causes": [(CAUSES[one.cause], figure_of(one), _weighs(one)) for one in found.causes],
        "days": found.look_again_days,
        "deeds": [(DEEDS[did], json.dumps(entries_for(part.key, bay, "done", did))) for did in found.do],
        "cautions": list(dict.fromkeys(CAUTIONS[did] for did in found.do if did in CAUTIONS)),
        "tub": Do.DROWN in found.do,
        "amount": any(did in WITH_AMOUNT for did in found.do),
        "turned": any(ALSO.get(did) == "turn" for did in found.do),
        "split": Do.SPLIT in found.do,
        "seen": json.dumps(entries_for(part.key, bay, "seen")),
        "gone": json.dumps(entries_for(part.key, bay, "gone")),
    }


def _weighs(one: Likely) -> str:
    return {Says.FOR: _("likely here"), Says.NOTHING: _("may be"), Says.AGAINST: _("less likely here")}[one.says]


def _rule(one: Showing) -> dict[str, Any]:
    lacking = {place: rule_words.lacks(one.rule, at) for place, at in one.places.items()}
    return {
        "whose": rule_words.WHOSE[one.rule.key],
        "asks": rule_words.asks(one.rule),
        "places": [(place, rule_words.time(at.hours), lacking[place]) for place, at in one.places.items()],
        "c_to_n_missing": one.c_to_n_fits is False,
        "source": one.rule.source,
        "checked": one.rule.checked,
    }


def _test(one: Shown) -> dict[str, Any]:
    return {
        "name": TRIALS[one.trial],
        "how": HOW[one.trial],
        "stage": STAGES[one.stage] if one.stage is not None else "",
        "shown": shown_by(one.verdict) if one.verdict else "",
        "answer": one.verdict.ready if one.verdict else "",
        "day": one.day,
        "from_log": one.from_log,
        "panel": PANELS[one.trial],
    }
