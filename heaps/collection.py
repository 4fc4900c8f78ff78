"""When bags may be expected of each heap, and how many, with the reason: what was forecast of it, or wide ranges of
published figures until something was. Never a day."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Sum
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from heaps import history, ledger
from heaps.forecast_words import WHY_WIDE, bags_words, ready_words
from heaps.foretold import Foretold, foretold, foretold_of
from heaps.ledger.heap import Batch
from heaps.models import Bay, DayTotal, Site, known_materials
from heaps.science.forecast import (
    HOT_WEEKS,
    LEAF_WEEKS,
    MONTHLY_WEEKS,
    UNTURNED_WEEKS,
    bags_to_expect,
    ready_between,
)
from heaps.science.living.foresight import Month, Months, Range
from heaps.science.materials import Materials
from heaps.sums import is_leaves
from heaps.usual import usual_bag_litres

#: Ready heaps first, then those nearest to it.
ORDER = (ledger.Stage.READY, ledger.Stage.MATURING, ledger.Stage.WORKING, ledger.Stage.FILLING)

#: Why the time is as uncertain as it is; the weeks are those of the forecast, with their sources there.
TIME_REASONS = {
    HOT_WEEKS: gettext_lazy("Turned every few days, a heap is ready in two to four months, the last ones to mature."),
    MONTHLY_WEEKS: gettext_lazy("Turned about monthly, a heap takes six months to a year, by weather and mix."),
    UNTURNED_WEEKS: gettext_lazy("Seldom turned, a heap takes nine months to two years; turning shortens that."),
    LEAF_WEEKS: gettext_lazy("Leaf mould takes one to two years, by the kind of leaf and how damp it was kept."),
}
#: So many reasons are named; a heap's own page names them all.
MOST_REASONS = 3


@dataclass(frozen=True)
class Ahead:
    """Bags and months, and why they are no closer. `published`: nothing was forecast yet, these are wide ranges.
    `made_on` is the day of a forecast that does not know of all that was recorded since."""

    bags: Range
    bag_litres: int
    ready: Months
    why: str
    published: bool = False
    made_on: date | None = None


@dataclass(frozen=True)
class Expected:
    """What may come out of one heap."""

    bay_uid: str
    bay: str
    site: str
    stage: str
    leaf: bool
    today: date
    ahead: Ahead

    @property
    def first(self) -> tuple[int, int]:
        """The year and the month in which it may be ready at the earliest; a ready one before all others."""
        months = self.ahead.ready
        return (0, 0) if self.stage == ledger.Stage.READY else (months.first.year, months.first.month)

    @property
    def when(self) -> str:
        """When it may be ready, in words."""
        return _("Ready now.") if self.stage == ledger.Stage.READY else ready_words(self.ahead.ready, self.today)

    @property
    def how_much(self) -> str:
        """How many bags, in words."""
        return bags_words(self.ahead.bags, self.ahead.bag_litres)


@dataclass(frozen=True)
class Bags:
    """Half bags made and fetched at one site so far."""

    site: str
    made: int
    fetched: int


def expected(now: datetime, site: Site | None = None) -> list[Expected]:
    """Every heap with something in it, of one site or of all: ready ones first, then by the earliest month."""
    bays = list(Bay.objects.filter(**({"site": site} if site else {})).select_related("site"))
    states = history.current_states({bay.site_id for bay in bays})
    lying = {bay.pk: state for bay in bays if (state := states.get(str(bay.uid))) and state.batch}
    said = foretold({pk: state.batch for pk, state in lying.items()})
    litres, materials = usual_bag_litres(), known_materials()
    found = [_expected(bay, lying[bay.pk], said.get(bay.pk), litres, now, materials) for bay in bays if bay.pk in lying]
    return sorted(found, key=lambda one: (ORDER.index(ledger.Stage(one.stage)), one.first))


def expected_of(
    bay: Bay, state: ledger.BayState, bag_litres: int, now: datetime, materials: Materials
) -> Expected | None:
    """What may come out of one heap; nothing of an empty bay. `bay.site` must have been fetched."""
    if state.batch is None:
        return None
    return _expected(bay, state, foretold_of(bay.pk, state.batch), bag_litres, now, materials)


def _expected(
    bay: Bay, state: ledger.BayState, said: Foretold | None, bag_litres: int, now: datetime, materials: Materials
) -> Expected:
    batch, stage = state.batch, ledger.stage(state, now)
    assert batch  # noqa: S101 - only heaps are asked about
    leaf = bay.kind == Bay.Kind.LEAF or is_leaves(batch, materials)
    return Expected(
        bay_uid=str(bay.uid),
        bay=bay.name,
        site=bay.site.name,
        stage=str(stage),
        leaf=leaf,
        today=bay.site.day_of(now),
        ahead=_forecast(said) if said else _published(bay, state, leaf, bag_litres, now),
    )


def _forecast(said: Foretold) -> Ahead:
    why = " ".join(str(WHY_WIDE[one]) for one in said.why_wide[:MOST_REASONS])
    return Ahead(said.bags, said.bag_litres, said.ready, why, made_on=said.made_on if said.stale else None)


def _published(bay: Bay, state: ledger.BayState, leaf: bool, bag_litres: int, now: datetime) -> Ahead:
    """Wide ranges, for as long as nothing was forecast."""
    batch, stage = state.batch, ledger.stage(state, now)
    assert batch  # noqa: S101 - only heaps are asked about
    since, until, time_reason = _between(bay, batch, leaf, now)
    bags = bags_to_expect(batch.volume_ml / 1000, bag_litres, leaf, batch.guessed)
    return Ahead(
        Range(bags.low, (bags.low + bags.high) / 2, bags.high),
        bag_litres,
        Months(Month(since.year, since.month), Month(until.year, until.month)),
        _why(batch, stage, leaf, "" if stage == ledger.Stage.READY else time_reason),
        published=True,
    )


def bags_so_far() -> list[Bags]:
    """Bags made and fetched at each site, over all years."""
    sums: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    totals = DayTotal.objects.filter(what__in=("harvested", "collected"))
    for site, what, half_bags in totals.values_list("site__name", "what").annotate(Sum("half_bags")).order_by():
        sums[site][what] = half_bags
    return [Bags(site, of["harvested"], of["collected"]) for site, of in sorted(sums.items())]


def _between(bay: Bay, batch: Batch, leaf: bool, now: datetime) -> tuple[date, date, str]:
    """The first and the last month in which it may be ready, and why. Months that have passed are not named."""
    began = min([batch.began, *(one.began for one in batch.ancestors.values())])
    since, today = bay.site.day_of(batch.fed_at or batch.began), bay.site.day_of(now)
    earliest, latest = ready_between(since, batch.turns, (today - bay.site.day_of(began)).days, leaf)
    reason = TIME_REASONS[((earliest - since).days // 7, (latest - since).days // 7)]
    return _month(max(earliest, today)), _month(max(latest, today)), str(reason)


def _why(batch: Batch, stage: ledger.Stage, leaf: bool, time_reason: str) -> str:
    """Why the range is as wide as it is, in plain words."""
    reasons = [
        _("Leaves sink to a third or a fifth of what was tipped.")
        if leaf
        else _("A heap loses a quarter to more than half of its volume, and some stays on the sieve."),
        time_reason,
    ]
    if stage == ledger.Stage.FILLING:
        reasons.append(_("It counts from the last load, so each further load moves it on."))
    if batch.guessed:
        reasons.append(_("Part of it is a guess from its first day here."))
    return " ".join(reason for reason in reasons if reason)


def _month(on: date) -> date:
    return on.replace(day=1)
