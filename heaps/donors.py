"""Who gives: what each gave so far, and what came in within a year by kind of giver."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q, QuerySet, Sum
from django.utils.translation import gettext as _

from heaps import history, ledger
from heaps.ledger.amounts import RETURNED
from heaps.ledger.contents import tipped
from heaps.ledger.kinds import Dropoff
from heaps.models import DayTotal, Donor, Entry, known_materials
from heaps.science.materials import Materials
from heaps.stewards import Care
from members.models import Erased

AT_ONCE = 1_000
LATEST = 20
#: Local days begin at most so long before or after those of UTC.
NEAR = timedelta(days=1)


@dataclass(frozen=True)
class Given:
    """So many loads under one heading. What was weighed and what is estimated stay apart."""

    heading: str
    loads: int = 0
    weighed_g: int = 0
    estimated_g: int = 0

    def plus(self, loads: int, **grams: int) -> "Given":
        """The same heading with more under it."""
        weighed_g = self.weighed_g + grams.get("weighed", 0)
        return Given(self.heading, self.loads + loads, weighed_g, self.estimated_g + grams.get("estimated", 0))


@dataclass(frozen=True)
class GivenLoad:
    """One load of a donor, as corrected."""

    uid: str
    day: date
    site: str
    material: str


@dataclass(frozen=True)
class Gifts:
    """What one donor gave so far: by material, the heaviest first, and the latest loads."""

    by_material: tuple[Given, ...]
    latest: tuple[GivenLoad, ...]


def register(care: Care) -> list[Donor]:
    """Everybody who gives or gave at the sites of `care`, those who still give first."""
    found = (Donor.objects.filter(site=None) | care.of(Donor.objects.all())).select_related("site")
    return sorted(found, key=lambda one: (not one.gives, name_of(one).lower()))


def name_of(donor: Donor) -> str:
    """The organisation, or the kind; of one that was erased, the kind and that its name is not kept."""
    if is_erased(donor):
        return _("%(kind)s, name not kept") % {"kind": donor.get_kind_display()}
    return str(donor)


def is_erased(donor: Donor) -> bool:
    """Whether nothing but its kind is left. Households never had more."""
    return not donor.organisation and donor.kind != Donor.Kind.HOUSEHOLDS


@transaction.atomic
def erase(donor: Donor) -> None:
    """Take organisation and contact off a donor who asks for it. What it gave keeps its kind."""
    donor.organisation, donor.contact, donor.gives = "", "", False
    donor.save()
    Erased.note(Erased.What.GIVER, donor.uid)


@transaction.atomic
def erase_contact(donor: Donor) -> None:
    """Take off how a donor is reached, and no more."""
    Donor.objects.filter(pk=donor.pk).update(contact="")
    Erased.note(Erased.What.CONTACT, donor.uid)


def gifts(donor: Donor) -> Gifts:
    """What `donor` gave, as it stands by now. What came back from a sieve is no gift."""
    materials = known_materials()
    sums: dict[str, Given] = {}
    latest: list[tuple[datetime, GivenLoad]] = []
    for row, entry, what in _standing(Entry.objects.filter(donor=donor)):
        material = _(materials[what.feedstock].short)
        sums[material] = sums.get(material, Given(material)).plus(1, **_grams(what, entry.at, materials))
        latest.append((entry.at, GivenLoad(entry.uid, row.site.day_of(entry.at), row.site.name, material)))
        latest = sorted(latest, key=lambda pair: pair[0])[-LATEST:]
    return Gifts(tuple(_heaviest_first(sums.values())), tuple(load for _at, load in reversed(latest)))


def by_kind(starts: date, ends: date) -> list[Given]:
    """What came in from `starts` until before `ends` by kind of giver, and last what nobody is named for.

    The lines add up to the stored totals: the last one is what those hold beside the others.
    """
    materials = known_materials()
    sums = {str(kind): Given(str(label)) for kind, label in Donor.Kind.choices}
    for row, entry, what in _standing(_near(starts, ends)):
        if row.donor and starts <= row.site.day_of(entry.at) < ends:
            sums[row.donor.kind] = sums[row.donor.kind].plus(1, **_grams(what, entry.at, materials))
    named = _heaviest_first(one for one in sums.values() if one.loads)
    whole = _came_in(starts, ends)
    nobody = Given(
        _("nobody named"),
        whole.loads - sum(one.loads for one in named),
        whole.weighed_g - sum(one.weighed_g for one in named),
        whole.estimated_g - sum(one.estimated_g for one in named),
    )
    return [*named, nobody] if whole.loads else []


def together(lines: Sequence[Given]) -> Given | None:
    """The sum of several lines. One line is its own sum."""
    if len(lines) < 2:
        return None
    return Given(
        _("together"),
        sum(one.loads for one in lines),
        sum(one.weighed_g for one in lines),
        sum(one.estimated_g for one in lines),
    )


def _came_in(starts: date, ends: date) -> Given:
    """The stored totals of what came in."""
    days = DayTotal.objects.filter(what="came in", day__gte=starts, day__lt=ends).order_by()
    whole = Given("")
    for basis, loads, wet_g in days.values_list("basis").annotate(Sum("entries"), Sum("wet_g")):
        whole = whole.plus(loads, **{basis: wet_g})
    return whole


def _near(starts: date, ends: date) -> QuerySet[Entry]:
    """Loads with a donor that may belong to these days: by their own time, or by one that a correction gives them."""
    midnight = time(tzinfo=ZoneInfo("UTC"))
    own = Q(
        effective_at__gte=datetime.combine(starts, midnight) - NEAR,
        effective_at__lt=datetime.combine(ends, midnight) + NEAR,
    )
    changed = Entry.objects.filter(corrects__isnull=False, details__says="instead")
    return Entry.objects.filter(own | Q(uid__in=changed.values("corrects")), donor__isnull=False)


def _standing(rows: QuerySet[Entry]) -> Iterator[tuple[Entry, ledger.Entry, Dropoff]]:
    """Loads among rows as corrected, some hundreds at a time; what came back from a sieve is left out."""
    last = 0
    ordered = rows.filter(kind=Dropoff.kind).select_related("bay", "site", "donor").order_by("pk")
    while part := list(ordered.filter(pk__gt=last)[:AT_ONCE]):
        last = part[-1].pk
        by_uid = {str(row.uid): row for row in part}
        for entry in history.as_they_stand(part):
            if isinstance(entry.what, Dropoff) and entry.what.feedstock != RETURNED:
                yield by_uid[entry.uid], entry, entry.what


def _grams(what: Dropoff, at: datetime, materials: Materials) -> dict[str, int]:
    """Wet grams by basis."""
    basis, load = tipped(what, at, materials)
    return {basis: load.wet_g}


def _heaviest_first(sums: Iterable[Given]) -> list[Given]:
    return sorted(sums, key=lambda one: (-one.weighed_g - one.estimated_g, one.heading))
