"""When and how much: the kept forecast of one heap as its own page tells it. Nothing is reckoned here but rounding."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from heaps import ledger
from heaps.board.range_chart import CELSIUS, OF_THE_BAY, RangeChart, Read, range_chart
from heaps.forecast_words import (
    MEASURE,
    SET_ASIDE,
    TURNED,
    WHY_WIDE,
    bags_words,
    ready_words,
    some_bags,
    sooner_words,
)
from heaps.foretold import Foretold, SetAside
from heaps.ledger import Batch
from heaps.ledger.kinds import Reading
from heaps.ledger.living import LOOK_FROM_DAYS, LOOK_UNTIL_DAYS
from heaps.models import Bay
from heaps.science.fit import Lying
from heaps.science.living.foresight import Balance, Measure, Range, When
from heaps.science.living.readings import Why
from heaps.sums import lying
from members.numerals import rounded

#: A reading that would take less than this off the doubt is not worth a walk.
WORTH_A_WALK = 0.03


@dataclass(frozen=True)
class If:
    """What would follow from a turn: when, what it does to the wait, and to the bags."""

    turned: str
    sooner: str
    bags: str


@dataclass(frozen=True)
class Measuring:
    """The reading that would narrow this forecast most, and what part of the doubt it would take off."""

    what: str
    share: float
    is_look: bool


@dataclass(frozen=True)
class Ahead:
    """All that is said of a heap's time to come. `aside` are the readings that do not count, each with its reason."""

    made_on: date
    stale: bool
    ready: str
    bags: str
    heats: bool
    temperature: RangeChart | None
    fill: RangeChart | None
    fortnight: Range | None
    why_wide: tuple[str, ...]
    aside: tuple[str, ...]
    ifs: tuple[If, ...]
    measuring: Measuring | None
    balance: Balance
    lies: Lying
    more_in_bags: bool


def ahead_of(
    bay: Bay, batch: Batch | None, found: Foretold | None, entries: Iterable[ledger.Entry], today: date
) -> Ahead | None:
    """The forecast that is kept of the heap in a bay, with its `entries`; None until one was made.

    What room the heap takes is told as the page on turns tells it. `more_in_bags`: the bags may hold more than that.
    """
    if batch is None or found is None:
        return None
    lies = lying(batch, bay.volume_ml / 1000, found.balance)
    warmths, fills = _reads(bay, entries)
    return Ahead(
        made_on=found.made_on,
        stale=found.stale,
        ready=ready_words(found.ready, today),
        bags=bags_words(found.bags, found.bag_litres),
        heats=found.heats,
        temperature=range_chart(found.temperature, _counting(warmths, found), today, CELSIUS),
        fill=range_chart(found.fill, _counting(fills, found), today, OF_THE_BAY),
        fortnight=found.fill_in_a_fortnight,
        why_wide=tuple(str(WHY_WIDE[one]) for one in found.why_wide),
        aside=tuple(_aside(one) for one in found.set_aside),
        ifs=tuple(_if(found, when) for when in (When.NOW, When.NEXT_MONTH, When.NEVER)),
        measuring=_measuring(found, today),
        balance=found.balance,
        lies=lies,
        more_in_bags=found.bags.high * found.bag_litres > lies.volume_l,
    )


def _reads(bay: Bay, entries: Iterable[ledger.Entry]) -> tuple[list[Read], list[Read]]:
    """Cores and marks in this bay, as the forecast reads them."""
    warmths, fills = [], []
    for entry in entries:
        if not isinstance(what := entry.what, Reading) or entry.bay != str(bay.uid):
            continue
        if what.temp_tenths_c is not None and what.place in (None, "core"):
            warmths.append(Read(bay.site.day_of(entry.at), what.temp_tenths_c / 10))
        if what.fill_per_cent is not None:
            fills.append(Read(bay.site.day_of(entry.at), what.fill_per_cent / 100))
    return warmths, fills


def _counting(reads: Iterable[Read], found: Foretold) -> list[Read]:
    aside = {(one.day, one.value) for one in found.set_aside}
    return [one for one in reads if (one.day, one.value) not in aside]


def _aside(one: SetAside) -> str:
    said = {"day": date_format(one.day, "j M Y"), "why": SET_ASIDE[one.why], "value": ""}
    if one.value is None:
        return _("From %(day)s on: %(why)s.") % said
    said["value"] = f"{rounded(one.value * 100)} %" if one.why == Why.TOO_FULL else f"{rounded(one.value)} °C"
    return _("%(value)s on %(day)s: %(why)s.") % said


def _if(found: Foretold, when: When) -> If:
    there = found.what_if[when]
    sooner = "" if when == When.NEVER else sooner_words(there.weeks_sooner)
    return If(str(TURNED[when]), sooner, some_bags(there.bags))


def _measuring(found: Foretold, today: date) -> Measuring | None:
    """A look tells of the date only some two months after the last load."""
    rests = (today - found.closed_on).days
    for one in found.worth:
        share = max(one.of_bags, one.of_date)
        if share < WORTH_A_WALK or (one.measure == Measure.LOOK and not LOOK_FROM_DAYS <= rests <= LOOK_UNTIL_DAYS):
            continue
        return Measuring(str(MEASURE[one.measure]), share, one.measure == Measure.LOOK)
    return None
