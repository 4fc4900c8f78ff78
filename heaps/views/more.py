"""The second recording page, for what happens less often. Like the first it is the same for everybody."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from heaps import gate, phone_words


@require_safe
@cache_control(no_cache=True)
def more(request: HttpRequest) -> HttpResponse:
    """Loads turned away, covers, stores, mulch, soaking tub, weighing, talks, accidents."""
    known = {"now": gate.ground(timezone.now()), "feedstocks": gate.feedstocks(), "words": phone_words.more()}
    return render(request, "heaps/more.html", {**known, **_about_loads(), **_about_people(), **_about_tests()})


def _about_loads() -> dict[str, list[tuple[str, str]]]:
    """The words behind each choice. The values are those of the ledger's kinds."""
    return {
        "whys": [
            ("never goes in", _("It never goes in")),
            ("glass or plastic in it", _("Glass or plastic in it")),
            ("may carry weedkiller", _("May carry weedkiller")),
            ("seed or disease", _("Seed or disease")),
            ("too wet or rotten", _("Too wet, or rotten")),
            ("no room", _("No room for it")),
            ("too much of it", _("Too much of it")),
            ("other", _("Something else")),
        ],
        "tub_ways": [("in", _("Into the tub")), ("out", _("Out of it"))],
        "weeds": [
            ("bindweed", _("Bindweed")),
            ("couch", _("Couch grass")),
            ("ground elder", _("Ground elder")),
            ("dock", _("Dock")),
            ("dandelion", _("Dandelion")),
            ("horsetail", _("Horsetail")),
            ("nettle roots", _("Nettle roots")),
            ("buttercup", _("Creeping buttercup")),
            ("thistle", _("Thistle")),
            ("seed heads", _("Seed heads")),
            ("other", _("Another weed")),
        ],
        "covers": [("on", _("Put on")), ("off", _("Taken off"))],
    }


def _about_tests() -> dict[str, list[tuple[str, str]]]:
    """What tests of readiness can show, and the answer."""
    return {
        "looks": [
            ("fresh", _("You can tell each thing")),
            ("matted", _("Brown and matted")),
            ("bitty", _("Dark, with bits in it")),
            ("crumbly", _("Dark and crumbly")),
            ("earthy", _("Like soil")),
        ],
        "smells": [
            ("ammonia", _("Ammonia")),
            ("rotten", _("Rot")),
            ("fresh", _("Fresh stuff")),
            ("none", _("Nothing")),
            ("woodland", _("Woods")),
        ],
        "verdicts": [("ready", _("Ready")), ("not yet", _("Not yet"))],
    }


def _about_people() -> dict[str, list[tuple[str, str]]]:
    """Gatherings and accidents; each accident with its own caution."""
    return {
        "gatherings": [
            ("talk", _("Talk")),
            ("workshop", _("Workshop")),
            ("open day", _("Open day")),
            ("school visit", _("School visit")),
            ("work day", _("Work day")),
            ("other", _("Something else")),
        ],
        "incidents": [
            ("injury", _("Somebody is hurt")),
            ("near miss", _("Nearly went wrong")),
            ("sharps", _("Glass, needles")),
            ("rats", _("Rats")),
            ("hot heap", _("Heap too hot")),
            ("fire", _("Fire or smoke")),
            ("smell", _("Bad smell")),
            ("spill", _("Spill")),
            ("other", _("Something else")),
        ],
        "cautions": _cautions(),
    }


def _cautions() -> list[tuple[str, str]]:
    """What to do first. The guide's chapter "Take care" has the sources."""
    return [
        (
            "injury",
            _(
                "First aid comes first. If it is bad, call for an ambulance now. Wash and cover small cuts. "
                "A deep, dirty or red cut needs a doctor."
            ),
        ),
        ("near miss", _("Make the place safe before anybody goes on.")),
        (
            "sharps",
            _(
                "No bare hands. Keep others away. Use tongs and a hard box with a lid. "
                "Pricked? Let it bleed, wash it with soap, and see a doctor at once."
            ),
        ),
        (
            "rats",
            _(
                "Gloves on, cuts covered, hands washed with soap. Rats can carry leptospirosis. "
                "If you feel ill in the weeks after, tell a doctor that you were near rats."
            ),
        ),
        (
            "hot heap",
            _("Keep off: steam scalds. Do not open it while it is very hot. If it smokes, call the fire service."),
        ),
        ("fire", _("Keep off, and keep everybody away. Call the fire service now. Do not open or turn the heap.")),
        ("smell", _("Stand upwind. Never climb into a closed bin or tub: the air in it can kill.")),
        (
            "spill",
            _(
                "Keep it out of drains and water. Do not touch or open cans and bottles. "
                "If you do not know what it is, keep away and tell a coordinator."
            ),
        ),
    ]
