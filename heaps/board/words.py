"""What a heap needs, in one plain line."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from heaps.science.advice import Code, Need
from heaps.science.feedstocks import Feedstock

#: One line for each need. Browns have lines of their own, with a number of containers.
LINES = {
    Code.EMPTY: gettext_lazy("Empty."),
    Code.FIRE: gettext_lazy(
        "80 °C or more inside: do not open it, keep people away and call the fire service. Check local rules."
    ),
    Code.VERY_HOT: gettext_lazy("Over 70 °C: turn it and wet it today. Steam scalds: wear gloves, stand upwind."),
    Code.HOT: gettext_lazy("Over 65 °C: turn it, and damp it as you go. Steam scalds: wear gloves."),
    Code.READY: gettext_lazy("Ready: sieve it and bag it."),
    Code.SOIL: gettext_lazy("Mostly soil or ash: it will not compost. Use it as soil, or start afresh."),
    Code.ROTTED: gettext_lazy("Mostly finished compost: it will not heat. Mix in fresh greens, or use it."),
    Code.LEAVES: gettext_lazy("Leaves alone: keep them damp and wait."),
    Code.BROWNS: gettext_lazy("Dry browns, mixed in."),
    Code.SOAKED_BROWNS: gettext_lazy("Browns, soaked first, mixed in: it is rich and dry."),
    Code.COVER: gettext_lazy("Wet, with browns enough: fork it loose and keep the rain off."),
    Code.WATER: gettext_lazy("Water: soak it in layers until a handful holds together."),
    Code.GREENS: gettext_lazy("Greens: it is too brown to warm up."),
    Code.GREENS_AND_WATER: gettext_lazy("Greens and water: it is brown and dry throughout."),
    Code.STRUCTURE: gettext_lazy("Air: fork shredded twigs or wood chip through it, or it packs down."),
    Code.FULL: gettext_lazy("It is full: close it and feed the next bay."),
    Code.REST: gettext_lazy("Nothing: let it mature."),
    Code.NOTHING: gettext_lazy("Nothing: it is balanced."),
}


def need_line(need: Need, brown: Feedstock | None, container: str) -> str:
    """The line for a need; `brown` and `container` are the site's usual ones."""
    if need.containers is None or not container or brown is None:
        return str(LINES[need.code])
    amount = {
        "containers": counted(need.containers, container),
        "brown": lower_first(_(brown.short)),
    }
    if need.code == Code.SOAKED_BROWNS:
        line = _("Browns: roughly %(containers)s of %(brown)s, soaked first and mixed in.") % amount
    else:
        line = _("Browns: roughly %(containers)s of %(brown)s, mixed in.") % amount
    return f"{line} {_('That is a start: more next time.')}" if need.more else line


def counted(number: int, container: str) -> str:
    """So many of a container that people named themselves: "3 barrows", "2 × 120-litre bin (blue)"."""
    name = lower_first(container)
    if number == 1:
        return f"1 {name}"
    if not name[-1:].isalpha() or name.endswith("s"):
        return f"{number} × {name}"
    return f"{number} {name}es" if name.endswith(("x", "ch", "sh")) else f"{number} {name}s"


def lower_first(text: str) -> str:
    """As it reads within a sentence."""
    return text[:1].lower() + text[1:]
