"""A night of a large cooperative, with its database: what `manage.py forecast` makes after midnight."""

import time
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from cooperative.bench.board import entry, own_database, take
from cooperative.bench.figures import Figure
from heaps.foreseeing import forecast_all
from heaps.models import Bay, Container, Site
from members.models import Cooperative, Member

BAYS_OF_A_SITE, WEEKS = 10, 26
#: Half buckets of 10 litres, each week into each bay.
LOADS = (("peelings", 4), ("leaves-mixed", 6), ("cardboard", 3))


def night(heaps: int) -> Figure:
    """All that is said of heaps that have been fed each week for half a year. Every one is made."""
    with own_database():
        now = timezone.now()
        _fill(heaps, now)
        began = time.perf_counter()
        made = list(forecast_all(now))
        took_s = time.perf_counter() - began
    if sum(one.forecasts for one in made) != heaps:
        raise AssertionError(f"Not of all: {made}")
    return Figure(f"forecast: a night of {heaps} heaps, with its database", took_s, "s")


def _fill(heaps: int, now: datetime) -> None:
    Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40)
    person = Member.objects.create_member("ada", "Ada", "leaves and straw")
    for first in range(0, heaps, BAYS_OF_A_SITE):
        site = Site.objects.create(name=f"Lane {first:03}")
        take(_loads(site, min(BAYS_OF_A_SITE, heaps - first), now), person, now)


def _loads(site: Site, heaps: int, now: datetime) -> list[dict[str, Any]]:
    """What went into a site's bays, in the order of the weeks."""
    size = {"length_cm": 120, "width_cm": 120, "height_cm": 100}
    bays = [Bay.objects.create(site=site, name=f"Bay {place}", position=place, **size) for place in range(1, heaps + 1)]
    bucket = Container.objects.create(site=site, name="bucket", litres=10)
    measure = {"container_ml": 10_000, "container": str(bucket.uid)}
    return [
        entry(
            "dropoff",
            bay,
            now - timedelta(weeks=week, hours=bay.position),
            measure | {"feedstock": feedstock, "half_containers": count + bay.position % 3},
        )
        for week in range(WEEKS, 0, -1)
        for bay in bays
        for feedstock, count in LOADS
    ]
