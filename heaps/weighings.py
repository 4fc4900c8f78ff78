"""Containers weighed full and empty: what a cubic metre of each material weighs here, and what to weigh next."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Sum

from heaps import history
from heaps.ledger.kinds import Weighing
from heaps.models import DayTotal, Entry, Use, known_materials
from heaps.science.feedstocks import Feedstock
from heaps.science.living.weights import BUCKETS, weigh_next
from heaps.science.units import density_kg_m3

AT_ONCE = 1_000
#: Eight times in ten a normal number lies within so many spreads of its middle.
EIGHT_OF_TEN = 1.2816
#: What takes less than this off the doubt is not worth ten weighings, nor is less than a kilogram of doubt.
WORTH_IT, WORTH_G = 0.10, 1_000


@dataclass(frozen=True)
class Weighed:
    """One container on the scale, without its own weight."""

    day: date
    site: str
    container_ml: int
    wet_g: int
    container: str | None = None

    @property
    def kg_m3(self) -> float:
        """What a cubic metre would weigh."""
        return density_kg_m3(self.wet_g / 1000, self.container_ml / 1000)


@dataclass(frozen=True)
class Weighings:
    """All of one material, the latest first."""

    each: tuple[Weighed, ...]

    @property
    def mean_kg_m3(self) -> int:
        """The mean of all, each counted alike; half up."""
        return int(sum(one.kg_m3 for one in self.each) / len(self.each) + 0.5)

    @property
    def least_kg_m3(self) -> int:
        return round(min(one.kg_m3 for one in self.each))

    @property
    def most_kg_m3(self) -> int:
        return round(max(one.kg_m3 for one in self.each))


@dataclass(frozen=True)
class Next:
    """The material that is worth weighing most. Grams that were only estimated, and how far off they may be eight times
    in ten: as it stands, and once ten full containers were weighed. `weighed` is how many were."""

    stuff: Feedstock
    container: str
    estimated_g: int
    off_g: int
    then_off_g: int
    weighed: int

    @property
    def enough(self) -> bool:
        """Whether enough were weighed, so that what they say has only to be taken for one's own."""
        return self.weighed >= BUCKETS

    @property
    def takes_off(self) -> float:
        """The share of the doubt that goes."""
        return 1 - self.then_off_g / self.off_g


def next_to_weigh(starts: date, ends: date, found: Mapping[str, Weighings]) -> Next | None:
    """What to weigh for the sums of the days from `starts` until before `ends`; None where little would come of it."""
    materials = known_materials()
    days = DayTotal.objects.filter(what="came in", basis="estimated", day__gte=starts, day__lt=ends)
    sums = dict(days.values_list("detail").annotate(Sum("wet_g")).filter(wet_g__sum__gt=0))
    best = next(
        iter(weigh_next({materials[key]: grams / 1000 for key, grams in sums.items() if key in materials})), None
    )
    off_g = round(best.doubt_kg * EIGHT_OF_TEN * 1000) if best else 0
    if best is None or off_g < WORTH_G or best.doubt_after_kg > best.doubt_kg * (1 - WORTH_IT):
        return None
    return Next(
        stuff=materials[best.feedstock],
        container=_comes_in(best.feedstock),
        estimated_g=sum(sums.values()),
        off_g=off_g,
        then_off_g=round(best.doubt_after_kg * EIGHT_OF_TEN * 1000),
        weighed=len(found[best.feedstock].each) if best.feedstock in found else 0,
    )


def _comes_in(feedstock: str) -> str:
    """The container that most loads of it come in, at whatever site."""
    uses = Use.objects.filter(feedstock=feedstock, container__isnull=False, loads__gt=0).order_by("-loads", "pk")
    return uses.values_list("container__name", flat=True).first() or ""


def weighings() -> dict[str, Weighings]:
    """By material, as corrected; what was taken back is left out."""
    found: dict[str, list[Weighed]] = defaultdict(list)
    for rows in _in_parts():
        sites = {str(row.uid): row.site for row in rows}
        for entry in history.as_they_stand(rows):
            if isinstance(what := entry.what, Weighing):
                site = sites[entry.uid]
                grams = what.full_g - what.empty_g
                one = Weighed(site.day_of(entry.at), site.name, what.container_ml, grams, what.container)
                found[what.feedstock].append(one)
    return {key: Weighings(tuple(sorted(here, key=lambda one: one.day)[::-1])) for key, here in found.items()}


def with_container(uid: str) -> list[tuple[str, Weighed]]:
    """What was weighed in one container, each with the key of its material, the latest first."""
    found = [(key, one) for key, here in weighings().items() for one in here.each if one.container == uid]
    return sorted(found, key=lambda pair: pair[1].day)[::-1]


def _in_parts() -> Iterator[list[Entry]]:
    last = 0
    rows = Entry.objects.filter(kind=Weighing.kind).select_related("bay", "site").order_by("pk")
    while part := list(rows.filter(pk__gt=last)[:AT_ONCE]):
        yield part
        last = part[-1].pk
