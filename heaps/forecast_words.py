"""A forecast as it reads on a page: months and never a day, bags, why a range is wide, what would change it."""

from collections.abc import Mapping
from datetime import date

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from heaps.science.living.foresight import Doubt, Measure, Month, Months, Range, When
from heaps.science.living.readings import Why

WHY_WIDE: Mapping[Doubt, str | Promise] = {
    Doubt.WEIGHT: _("The loads were not weighed."),
    Doubt.ROTS: _("No two heaps rot at the same speed."),
    Doubt.SINKS: _("How far it sinks is hard to tell."),
    Doubt.BAGGING: _("How it is sieved and how full the bags are also counts."),
    Doubt.BAR: _("People call it ready at different times."),
    Doubt.NO_HARVEST: _("No harvest is on record yet. Each one teaches a lot."),
    Doubt.FEW_HARVESTS: _("There are few harvests to learn from so far."),
    Doubt.NO_READING: _("Nobody has measured this heap yet."),
    Doubt.GUESSED: _("Part of it lay there at the start and was guessed."),
    Doubt.SET_ASIDE: _("Some readings do not count. They stand below."),
    Doubt.SILENCE: _("Nobody measured it for months."),
    Doubt.BEYOND: _("It may take longer than we can look ahead."),
    Doubt.SURPRISE: _("The readings are not what such a heap shows as a rule."),
    Doubt.NEWEST: _("The last reading moved it away from what is usual, where less is known."),
}

#: Why a reading does not count, after the reading and its day.
SET_ASIDE: Mapping[Why, str | Promise] = {
    Why.IMPOSSIBLE: _("no heap is so hot or so cold"),
    Why.STUCK: _("the probe showed the same again and again"),
    Why.TOO_FULL: _("more than twice what the bay holds"),
    Why.NOT_YET: _("nothing lay there yet"),
    Why.SILENCE: _("nobody measured for two months or more"),
}

#: What to measure, as a line of its own.
MEASURE: Mapping[Measure, str | Promise] = {
    Measure.FILL: _("Mark how full the bay is."),
    Measure.WARMTH: _("Take its temperature in the middle."),
    Measure.LOOK: _("Look at a handful, and say in a word how far it is."),
}

TURNED: Mapping[When, str | Promise] = {
    When.NOW: _("Turned by Saturday"),
    When.NEXT_MONTH: _("Turned next month"),
    When.NEVER: _("Not turned at all"),
}


def ready_words(ready: Months, today: date) -> str:
    """When it may be ready. Months that have passed are not named."""
    this = today.replace(day=1)
    first = max(_first(ready.first), this)
    last = None if ready.last is None else max(_first(ready.last), this)
    said = {"first": _month(first), "last": _month(last) if last else ""}
    if first == this:
        if first == last:
            return gettext("May be ready now: test it.")
        if last is None:
            return gettext("Perhaps now, perhaps much later: test it.")
        return gettext("Perhaps now, perhaps not before %(last)s: test it.") % said
    if last is None:
        return gettext("Not before %(first)s. How much later, nobody can tell yet.") % said
    return (gettext("In %(first)s.") if first == last else gettext("Between %(first)s and %(last)s.")) % said


def bags_words(bags: Range, litres: int) -> str:
    """How many bags, in whole ones."""
    low, high = round(bags.low), max(1, round(bags.high))
    said = {"low": low, "high": high, "litres": litres}
    if low == high:
        said_so = ngettext(
            "About %(high)s bag of %(litres)s litres.", "About %(high)s bags of %(litres)s litres.", high
        )
        return said_so % said
    if low == 0:
        said_so = ngettext(
            "Up to %(high)s bag of %(litres)s litres.", "Up to %(high)s bags of %(litres)s litres.", high
        )
        return said_so % said
    return gettext("%(low)s to %(high)s bags of %(litres)s litres.") % said


def sooner_words(weeks_sooner: float) -> str:
    """What a turn does to the wait, in whole weeks."""
    weeks = round(abs(weeks_sooner))
    if weeks == 0:
        return gettext("the month stays much the same")
    if weeks_sooner > 0:
        return ngettext("about %(weeks)s week sooner", "about %(weeks)s weeks sooner", weeks) % {"weeks": weeks}
    return ngettext("about %(weeks)s week later", "about %(weeks)s weeks later", weeks) % {"weeks": weeks}


def some_bags(bags: float) -> str:
    """The middle of a range of bags."""
    number = max(1, round(bags))
    return ngettext("about %(number)s bag", "about %(number)s bags", number) % {"number": number}


def _first(month: Month) -> date:
    return date(month.year, month.month, 1)


def _month(on: date) -> str:
    return date_format(on, "F Y")
