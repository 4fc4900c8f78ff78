"""The recording page: the same for everybody, so that a phone can keep it and open it without a network."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from heaps import gate, phone_words


@require_safe
@cache_control(no_cache=True)
def drop_off(request: HttpRequest) -> HttpResponse:
    """The recording page. It asks neither session nor cookies."""
    return render(
        request,
        "heaps/drop_off.html",
        {
            "now": gate.ground(timezone.now()),
            "feedstocks": gate.feedstocks(),
            "words": phone_words.recording(),
            **_choices(),
        },
    )


@require_safe
@cache_control(no_cache=True)
def now(request: HttpRequest) -> HttpResponse:
    """The ground as it is now, for a page that was opened from the phone's own copy."""
    return JsonResponse(gate.ground(timezone.now()))


def _choices() -> dict[str, list[tuple[str, str]]]:
    """The words behind each choice. The values are those of the ledger's kinds."""
    return {
        "places": [("core", _("Core")), ("edge", _("Edge")), ("top", _("Top")), ("base", _("Base"))],
        "squeezes": [
            ("dust", _("Dry: it falls apart like dust")),
            ("crumbles", _("It crumbles when the hand opens")),
            ("holds", _("It holds together, no drops")),
            ("drops", _("It holds, with a few drops")),
            ("runs", _("Water runs out")),
        ],
        "signs": [
            ("ammonia", _("Sharp, like ammonia")),
            ("rotten", _("Rotten")),
            ("flies", _("Flies")),
            ("ants", _("Ants")),
            ("rats", _("Rats")),
            ("slimy", _("Slimy")),
            ("dusty", _("Dusty")),
            ("matted", _("Matted")),
            ("seedlings", _("Seedlings")),
            ("shoots", _("Roots and shoots")),
        ],
        "tests": [
            ("look", _("Look")),
            ("smell", _("Smell")),
            ("no reheating", _("No new heat after a turn")),
            ("cress", _("Cress grows in it")),
            ("flask", _("Closed flask")),
        ],
        "verdicts": [("ready", _("Ready")), ("not yet", _("Not yet"))],
        "shares": [("100", _("All of it")), ("50", _("Half of it"))],
        "sieving": [("coarse", _("Coarse")), ("sieved", _("Sieved"))],
        "takings": [
            ("100", _("All of it")),
            ("75", _("Three quarters")),
            ("50", _("Half of it")),
            ("25", _("A quarter")),
        ],
    }
