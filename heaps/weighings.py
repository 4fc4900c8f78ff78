"""Containers that were weighed full and empty: what a cubic metre of each material weighs here."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from heaps import history
from heaps.ledger.kinds import Weighing
from heaps.models import Entry
from heaps.science.units import density_kg_m3

AT_ONCE = 1_000


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
