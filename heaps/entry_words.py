"""How entries read on a phone, in the reader's language. They know keys, as in phone_words."""

from django.utils.translation import gettext as _


def of_entries() -> dict[str, str]:
    """How entries read. "at" and the like add the bay and the words."""
    return {
        "at": _("{what}, {bay}"),
        "into": _("{what} into {bay}"),
        "with words": _("{what}: “{words}”"),
        "a bay": _("a bay"),
        "undoing": _("Undone"),
        "instead": _("Corrected to: {what}"),
        "warm": _("{n} °C"),
        "warm at": _("{n} °C at the {place}"),
        "squeezed": _("squeeze test: {what}"),
        "fill": _("{n} % full"),
        "signs": _("seen: {what}"),
        "turned": _("Turned {what}"),
        "all of": _("all of {bay}"),
        "share of": _("{n} % of {bay}"),
        "and": _("{one} and {other}"),
        "close": _("Closed: nothing more goes in"),
        "reopen": _("Opened for feeding again"),
        "ready": _("Ready, by {test}"),
        "not yet ready": _("Not ready yet, by {test}"),
        "harvest": _("Harvested {bags}, {sieved}"),
        "tip out": _("Emptied without a harvest"),
        "fetched": _("{bags} fetched"),
        "note": _("A note"),
    }


def of_further_kinds() -> dict[str, str]:
    """On the recording page: what the page for something else recorded, in a word."""
    return {
        "kind refused_load": _("Turned away"),
        "kind cover": _("Cover"),
        "kind stocktake": _("Store counted"),
        "kind spread": _("Mulching"),
        "kind soak": _("Soaking tub"),
        "kind weighing": _("Weighed"),
        "kind session": _("Talk or workshop"),
        "kind incident": _("Accident or danger"),
        "kind sign": _("A sign followed up"),
    }


def of_further_entries() -> dict[str, str]:
    return {
        "turned away": _("Turned away: {what} ({why})"),
        "cover on": _("Covered"),
        "cover off": _("Cover taken off"),
        "in store": _("In store: {what}"),
        "deep": _("{n} cm deep"),
        "soak in": _("{load} into the tub"),
        "soak out": _("{load} out of the tub"),
        "weighed": _("Weighed: {load}, {kg} kg"),
        "session": _("{what}: {people}"),
        "wrong": _("Went wrong: {what}"),
    }
