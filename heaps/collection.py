"""When bags may be expected of each heap, and how many: wide ranges with their reason, never a day."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Sum
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from heaps import history, ledger
from heaps.ledger.heap import Batch
from heaps.models import Bay, DayTotal, known_materials
from heaps.science.forecast import (
    HOT_WEEKS,
    LEAF_WEEKS,
    MONTHLY_WEEKS,
    UNTURNED_WEEKS,
    Range,
    bags_to_expect,
    ready_between,
)
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


@dataclass(frozen=True)
class Expected:
    """What may come out of one heap. `earliest` and `latest` are first days of months; a ready heap has neither."""

    bay_uid: str
    bay: str
    site: str
    stage: str
    leaf: bool
    bags: Range
    bag_litres: int
    earliest: date | None
    latest: date | None
    maybe_now: bool
    why: str


@dataclass(frozen=True)
class Bags:
    """Half bags made and fetched at one site so far."""

    site: str
    made: int
    fetched: int


def expected(now: datetime) -> list[Expected]:
    """Every heap with something in it: ready ones first, then by the earliest month."""
    bays = list(Bay.objects.select_related("site"))
    states = history.current_states({bay.site_id for bay in bays})
    bag_litres, materials = usual_bag_litres(), known_materials()
    found = [
        heap
        for bay in bays
        if (state := states.get(str(bay.uid))) and (heap := expected_of(bay, state, bag_litres, now, materials))
    ]
    return sorted(found, key=lambda one: (ORDER.index(ledger.Stage(one.stage)), one.earliest or date.min))


def expected_of(
    bay: Bay, state: ledger.BayState, bag_litres: int, now: datetime, materials: Materials
) -> Expected | None:
    """What may come out of one heap; nothing of an empty bay. `bay.site` must have been fetched."""
    batch = state.batch
    if batch is None:
        return None
    stage = ledger.stage(state, now)
    leaf = bay.kind == Bay.Kind.LEAF or is_leaves(batch, materials)
    since, until, time_reason = _between(bay, batch, leaf, now)
    ready = stage == ledger.Stage.READY
    return Expected(
        bay_uid=str(bay.uid),
        bay=bay.name,
        site=bay.site.name,
        stage=str(stage),
        leaf=leaf,
        bags=bags_to_expect(batch.volume_ml / 1000, bag_litres, leaf, batch.guessed),
        bag_litres=bag_litres,
        earliest=None if ready else since,
        latest=None if ready else until,
        maybe_now=not ready and since <= _month(bay.site.day_of(now)),
        why=_why(batch, stage, leaf, "" if ready else time_reason),
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
