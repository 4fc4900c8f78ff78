"""How the ledger's words, the year's lines and refusals are said to people, in their language."""

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from heaps.value_words import VALUE_WORDS
from heaps.wire import Refusal, Term
from members.numerals import rounded

#: The lines of a year's report.
REPORTED = {
    "came in": _("Came in"),
    "returned": _("Came back from the sieve"),
    "refused": _("Turned away"),
    "harvested": _("Harvested"),
    "collected": _("Fetched"),
    "mulched": _("Mulched"),
    "hours": _("Hours"),
    "gatherings": _("Talks and workshops"),
    "incidents": _("Accidents"),
    "people": _("People"),
}


def refused(refusal: Refusal) -> str:
    """Why an entry cannot be taken, in the reader's language."""
    return (gettext(refusal.says) % {name: _value(one) for name, one in refusal.values.items()}).strip()


def _value(value: object) -> object:
    """What stands in a gap: a word of ours, a further sentence, or what somebody sent."""
    if isinstance(value, Refusal):
        return refused(value)
    if isinstance(value, int):
        return rounded(value)
    return gettext(value) if isinstance(value, Term) else value


def said(field: str, value: str) -> str:
    """How a value of the ledger reads inside a sentence; one that is not known, as it is."""
    return str(VALUE_WORDS[field].get(value, value))
