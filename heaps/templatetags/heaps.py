"""The one place where numbers are rounded and given their units."""

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction

from django import template
from django.db.models import prefetch_related_objects
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from heaps import wording
from heaps.board import Band, Section
from heaps.funder_report import ALL_SITES, Row
from heaps.guide import ANSWERS
from heaps.phone_words import Words, every_page
from heaps.science.fit import Fits, Span
from members.models import Member
from members.numerals import exact, halves, rounded, significant

register = template.Library()

#: How good the evidence behind a figure is, in words a volunteer knows.
EVIDENCE = {
    "read": gettext_lazy("read in the source"),
    "read in part": gettext_lazy("partly read in the source"),
    "from memory (high)": gettext_lazy("from memory, sure"),
    "from memory (medium)": gettext_lazy("from memory, fairly sure"),
    "from memory (low)": gettext_lazy("from memory, unsure"),
    "own": gettext_lazy("our own value"),
}
BASES = {
    "weighed": gettext_lazy("weighed"),
    "estimated": gettext_lazy("estimated"),
    "opening": gettext_lazy("guessed: it lay here at the start"),
}
GROUPS = {
    "structural": gettext_lazy("coarse"),
    "brown": gettext_lazy("browns"),
    "green": gettext_lazy("greens"),
    "mineral": gettext_lazy("minerals"),
    "mixed": gettext_lazy("mixed"),
}
FITS = {
    Fits.YES: gettext_lazy("✓ It fits."),
    Fits.HEAPED: gettext_lazy("! It fits, heaped over the edge."),
    Fits.PERHAPS: gettext_lazy("! Perhaps: it may not all go in on the day."),
    Fits.NO: gettext_lazy("✕ No: not all of it goes in on the day."),
}
SQUEEZES = {
    "dust": gettext_lazy("falls to dust"),
    "crumbles": gettext_lazy("crumbles"),
    "holds": gettext_lazy("holds together"),
    "drops": gettext_lazy("gives a drop or two"),
    "runs": gettext_lazy("runs"),
}


@register.simple_tag
def words_of_every_page() -> Words:
    """What the scripts of any page say."""
    return every_page()


@register.filter
def whole(number: int) -> str:
    """A count."""
    return rounded(number)


@register.filter
def kg(grams: int) -> str:
    """Grams as kilograms: one place under 10 kg, whole ones from there on."""
    return f"{_places(Fraction(grams, 1000), 10)} kg"


@register.filter
def exact_kg(grams: int) -> str:
    """Grams as kilograms to the gram, for the books."""
    return f"{exact(grams, 1000, places=3)} kg"


@register.filter
def litres(millilitres: int) -> str:
    """Millilitres as litres: one place under 10, whole ones from there on."""
    return _("%(number)s litres") % {"number": _places(Fraction(millilitres, 1000), 10)}


@register.filter
def rough_litres(number: float) -> str:
    """Litres that were reckoned, to the next ten; a few of them to the litre, so that a little is not told as none."""
    places = -1 if number >= 20 else 0 if number >= 1 else 1
    return _("%(number)s litres") % {"number": rounded(round(number, places), max(places, 0))}


@register.filter
def span(one: Span) -> str:
    """Litres, from least to most."""
    return _("%(least)s to %(most)s litres") % {
        "least": rounded(round(one.least_l, -1)),
        "most": rounded(round(one.most_l, -1)),
    }


@register.filter
def fits(answer: Fits) -> str:
    """Whether a turn fits its bay."""
    return str(FITS[answer])


@register.filter
def per_cent(fraction: float) -> str:
    """A share as a whole per cent."""
    return f"{rounded(fraction * 100)} %"


@register.filter
def fine_per_cent(fraction: float) -> str:
    """A share in per cent with as many places as its size asks for."""
    return f"{significant(fraction * 100)} %"


@register.filter
def ratio(number: float) -> str:
    """A C:N ratio as a whole number to one."""
    return f"{rounded(number)} : 1"


@register.filter
def plain(number: float) -> str:
    """A figure of the material table with three significant figures at most."""
    return significant(number)


@register.filter
def weight(kilograms: float) -> str:
    """Kilograms that were reckoned, not weighed: three significant figures."""
    return f"{rounded(kilograms) if kilograms >= 100 else significant(kilograms)} kg"


@register.filter
def thousandth(number: int) -> str:
    """Kilograms as tonnes, or litres as cubic metres: up to three places."""
    return exact(number, 1000)


@register.filter
def square_metres(tenths: int) -> str:
    """Tenths of a square metre as square metres, nothing rounded, so that what sites have adds up."""
    return f"{exact(tenths, 10)} m²"


@register.filter
def celsius(tenths: int) -> str:
    """Tenths of a degree as whole degrees."""
    return f"{rounded(tenths / 10)} °C"


@register.filter
def degrees(tenths: int) -> str:
    """Tenths of a degree as whole degrees, where there is no room for the unit."""
    return f"{rounded(tenths / 10)}°"


@register.filter
def units(length: float) -> str:
    """A length in units of a drawing."""
    return f"{length:.1f}"


@register.filter
def add_units(length: float, more: float) -> str:
    """A length in units of a drawing, and so many more."""
    return units(length + float(more))


@register.filter
def names_of_layers(section: Section) -> list[Band]:
    """The layers that have room for their names beside them, less those that would meet the fill mark's."""
    return [band for band in section.bands if band.is_named and band.middle > section.top + 18]


@register.filter
def groups_of(bands: Sequence[Band]) -> list[str]:
    """The groups that are drawn, each once, from the top down."""
    return list(dict.fromkeys(band.group for band in reversed(bands)))


@register.filter
def bags(half_bags: int) -> str:
    """Half bags as bags: 3 or 2½."""
    return halves(half_bags)


@register.filter
def hours(minutes: int) -> str:
    """Minutes as hours and minutes."""
    whole, rest = rounded(minutes // 60), minutes % 60
    return f"{whole} h {rest:02d} min" if rest else f"{whole} h"


@register.filter
def day(on: date) -> str:
    """A day, short."""
    return date_format(on, "j M Y")


@register.filter
def day_seen_from(on: date, today: date) -> str:
    """A day, with its year only where it could be taken for this year's."""
    return date_format(on, "j M" if abs((today - on).days) < 300 else "j M Y")


@register.filter
def group(word: str) -> str:
    """A group of materials."""
    return str(GROUPS[word])


@register.filter
def month(on: date) -> str:
    """A month and its year."""
    return date_format(on, "F Y")


@register.filter
def stage_word(stage: str) -> str:
    """The stage in a word."""
    return wording.said("stage", stage)


@register.filter
def evidence(grade: str) -> str:
    """How good the evidence is."""
    return str(EVIDENCE.get(grade, grade))


@register.filter
def place(word: str) -> str:
    """Where in the heap somebody looked."""
    return wording.said("place", word)


@register.filter
def signs(words: Iterable[str]) -> str:
    """What somebody saw or smelt."""
    return ", ".join(wording.said("sign", word) for word in words)


@register.filter
def reported(what: str) -> str:
    """A line of a year's report."""
    return str(wording.REPORTED.get(what, what))


@register.filter
def detail(row: Row) -> str:
    """What a line of a year's report is about: a material, how it was sieved, what came about."""
    word = row.detail
    if row.material != word:
        return _(row.material)
    return next((said for field in ("sieved", "sort", "what") if (said := wording.said(field, word)) != word), word)


@register.filter
def site_or_all(name: str) -> str:
    """A site, or all of them together."""
    return _("all sites") if name == ALL_SITES else name


@register.filter
def answer(word: str) -> str:
    """Whether something goes in: sign and words."""
    icon, says = ANSWERS[word]
    return f"{icon} {says}"


@register.filter
def basis(word: str) -> str:
    """Whether a weight was weighed, estimated or guessed."""
    return str(BASES.get(word, word))


@register.filter
def squeeze(word: str) -> str:
    """What a handful did when it was squeezed."""
    return str(SQUEEZES.get(word, word))


def _places(number: Fraction, whole_from: int) -> str:
    return rounded(number, 1 if abs(number) < whole_from and round(float(number), 1) % 1 else 0)


@register.simple_tag
def with_sites(people: Iterable[Member]) -> list[Member]:
    """People together with the sites that each coordinates, in two questions to the database."""
    known = list(people)
    prefetch_related_objects(known, "stewardships__site")
    return known
