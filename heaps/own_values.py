"""Own values of materials: what one would do to the years, keeping it once that was seen, and what was decided."""

import hashlib
import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.db.models import Sum
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from heaps import history, ledger, sync
from heaps.history.rows import Change
from heaps.models import DayTotal, Ledger, OwnValue, Site, known_materials
from heaps.science.feedstocks import carbon_warning
from heaps.science.materials import DENSITY, FIGURES, OWN, Materials, strange_figure
from heaps.years import Year, first_month, holding
from members.numerals import rounded, significant

#: The words at the gate, as they are said; the guide and the phones have signs beside them.
GATE_WORDS = {
    "yes": _lazy("Yes"),
    "with care": _lazy("Yes, with care"),
    "treat first": _lazy("Treat it first"),
    "never": _lazy("Never"),
}
UNITS = {"density": "kg", "moisture": "%", "nitrogen": "%", "c_to_n": ""}


@dataclass(frozen=True)
class Moved:
    """A year's grams that came in, before and after."""

    year: Year
    before_g: int
    after_g: int


@dataclass(frozen=True)
class Outlook:
    """What decisions would do: which loads weigh otherwise, which years move, and what is odd about them."""

    before: Materials
    after: Materials
    changes: tuple[Change, ...]
    years: tuple[Moved, ...]
    doubts: tuple[str, ...]

    @property
    def to_confirm(self) -> bool:
        """Whether somebody has to see it first."""
        return bool(self.changes or self.doubts)

    @property
    def seal(self) -> str:
        """A short name for exactly this, so that nobody confirms what they have not seen."""
        moved = [(one.year.starts, one.before_g, one.after_g) for one in self.years]
        return hashlib.sha256(repr((moved, len(self.changes), self.doubts)).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Decided:
    """One decision in words: what it was before, what it is now, from when on, and what it did to the years."""

    value: OwnValue
    short: str
    before: str
    after: str
    years: tuple[Moved, ...]


def new_key() -> str:
    """A key for an own material: by chance, and never one of the table's."""
    return f"{OWN}{uuid.uuid4().hex[:12]}"


def start_of(day: date) -> datetime:
    """The first moment of a day by the clock of the cooperative's first site; in UTC before there is one."""
    zone = Site.objects.order_by("pk").values_list("time_zone", flat=True).first() or "UTC"
    return datetime.combine(day, time(), ZoneInfo(zone))


def outlook(*decisions: OwnValue) -> Outlook:
    """What these decisions, which are about one material, would do."""
    before, after = known_materials(), known_materials(*decisions)
    key = decisions[0].feedstock
    changes = history.weighed_otherwise(key, before, after) if any(one.figure == DENSITY for one in decisions) else []
    return Outlook(before, after, tuple(changes), _moved(changes, before, after), _doubts(decisions, after))


def keep(decisions: Sequence[OwnValue], seen: str) -> Outlook | None:
    """Keep decisions, with states and totals made anew where loads weigh otherwise.

    Nothing is done, and what they would do is answered, when that has yet to be seen. Runs in a transaction.
    """
    sync.head()
    Ledger.objects.select_for_update().get(pk=1)
    found = outlook(*decisions)
    if found.to_confirm and seen != found.seal:
        return found
    for one in decisions:
        if one.figure == DENSITY:
            one.moved = [[moved.year.starts.isoformat(), moved.before_g, moved.after_g] for moved in found.years]
        one.save()
    history.reweigh(found.changes, found.before, found.after)
    return None


def decided(key: str = "") -> list[Decided]:
    """Everything decided so far, or about one material, the latest first."""
    materials, found = known_materials(), []
    last: dict[tuple[str, str], OwnValue] = {}
    for one in OwnValue.objects.order_by("pk"):
        if one.feedstock in materials:
            before = last.get((one.feedstock, one.figure))
            last[one.feedstock, one.figure] = one
            found.append(_told(one, before, materials))
    return [one for one in reversed(found) if key in ("", one.value.feedstock)]


def that_moved(year: Year) -> list[tuple[Decided, Moved]]:
    """The decisions that moved a year's sum, the latest first, with what it went from and to."""
    return [(one, moved) for one in decided() for moved in one.years if moved.year == year]


def in_units(figure: str, number: float) -> str:
    """A figure as it is typed, with its unit."""
    return f"{significant(number, 6)} {UNITS[figure]}".strip()


def _told(one: OwnValue, before: OwnValue | None, materials: Materials) -> Decided:
    moved = tuple(Moved(Year(date.fromisoformat(starts)), old, new) for starts, old, new in one.moved)
    before_text = _text(before, one, materials)
    return Decided(one, _(materials[one.feedstock].short), before_text, _text(one, one, materials), moved)


def _text(one: OwnValue | None, about: OwnValue, materials: Materials) -> str:
    """What a decision says; without one, or where it takes itself back, what is published."""
    listed = materials.listed[about.feedstock]
    if about.figure in FIGURES:
        figure = FIGURES[about.figure]
        value = figure.published(listed)
        if one and one.number is not None:
            return in_units(about.figure, float(one.number))
        said = in_units(about.figure, value.typical * figure.scale) if value else ""
        return _("%(said)s as published") % {"said": said}
    if about.figure == OwnValue.Figure.NAME:
        return (one.words if one else "") or ("" if about.feedstock.startswith(OWN) else _(listed.short))
    words = one.chosen if one else ""
    if about.figure == OwnValue.Figure.RELATIVE:
        return _(materials.listed[words].short) if words in materials.listed else ""
    if about.figure == OwnValue.Figure.OFFERED:
        return _("no longer") if words == "no" else _("yes")
    return str(GATE_WORDS.get(words or listed.acceptance, words))


def _moved(changes: Iterable[Change], before: Materials, after: Materials) -> tuple[Moved, ...]:
    """The years whose sums move: what is stored for them, and the same with the difference of these loads."""
    sites = {site.pk: site for site in Site.objects.all()}
    starts_in_month = first_month()
    more: dict[Year, int] = defaultdict(int)
    for change in changes:
        if change.after:
            year = holding(sites[change.row.site_id].day_of(change.after.at), starts_in_month)
            more[year] += _came_in_g(change.after, after) - _came_in_g(change.after, before)
    years = sorted((year for year, grams in more.items() if grams), key=lambda year: year.starts)
    return tuple(Moved(year, grams := _stored_g(year), grams + more[year]) for year in years)


def _came_in_g(entry: ledger.Entry, materials: Materials) -> int:
    counted = ledger.amount_of(entry, materials)
    return counted[1].wet_g if counted and counted[0].what == "came in" else 0


def _stored_g(year: Year) -> int:
    days = DayTotal.objects.filter(what="came in", day__gte=year.starts, day__lt=year.ends)
    return days.aggregate(grams=Sum("wet_g"))["grams"] or 0


def _doubts(decisions: Iterable[OwnValue], after: Materials) -> tuple[str, ...]:
    """What is odd about them, though it may be right."""
    found = []
    for one in decisions:
        if one.figure not in FIGURES or one.number is None:
            continue
        figure = FIGURES[one.figure]
        published = figure.published(after.listed[one.feedstock])
        if published and strange_figure(one.figure, float(one.number), published):
            found.append(
                _("%(figure)s: %(number)s is outside what the sources give: %(low)s to %(high)s. Is it typed right?")
                % {
                    "figure": OwnValue.Figure(one.figure).label,
                    "number": significant(one.number, 6),
                    "low": significant(published.low * figure.scale, 6),
                    "high": significant(published.high * figure.scale, 6),
                }
            )
    return (*found, *_carbon_doubt(decisions, after))


def _carbon_doubt(decisions: Iterable[OwnValue], after: Materials) -> tuple[str, ...]:
    """Nitrogen and C:N together give a share of carbon, and no plant has any."""
    told = [one for one in decisions if one.figure in ("nitrogen", "c_to_n")]
    if not told:
        return ()
    stuff = after[told[0].feedstock]
    nitrogen, c_to_n = stuff.nitrogen_fraction_dry, stuff.c_to_n
    key = after.relatives.get(stuff.key, stuff.key)
    if nitrogen is None or c_to_n is None or not carbon_warning(nitrogen.typical, c_to_n.typical, stuff.group, key):
        return ()
    share = rounded(nitrogen.typical * c_to_n.typical * 100)
    says = _("Nitrogen and C:N together make %(share)s %% carbon. Plants hold 27 to 60 %%. Are both typed right?")
    return (says % {"share": share},)
