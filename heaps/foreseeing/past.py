"""What heaps that came to an end as bags teach: what would have been said of each some weeks after its last load, from
what had been recorded by then, and what came out of it."""

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q

from heaps import history
from heaps.foreseeing.ground import bays_of, ground_of, the_members
from heaps.ledger.ended import Ended, ended
from heaps.ledger.living import Told, concerning, tell_before
from heaps.lessons import SHAPE, learnt_here
from heaps.models import Bay, KeptLesson, Site, climate_at, known_materials
from heaps.science.living.outlook import BAGS, DAYS, bags_ahead, days_ahead, outlooks
from heaps.science.living.ranges import eight_of_ten, months
from heaps.usual import usual_bag_litres

#: So long after the last load a heap's own readings say something, and most of the wait still lies ahead.
SAID_AFTER = timedelta(days=45)


@dataclass(frozen=True)
class _Due:
    """An ended heap that there is no lesson of yet, or another one, and what was known of it when it would be said."""

    site: Site
    heap: Ended
    told: Told
    key: str


def learn_from(sites: Iterable[Site]) -> Counter[int]:
    """Keep a lesson of each ended heap that there is none of yet, or that was corrected; how many were made, by site.

    The oldest first, wherever it lay: each is said with what those before it had taught.
    """
    made: Counter[int] = Counter()
    for one in sorted((one for site in sites for one in _due(site)), key=lambda one: _said_at(one.heap)):
        if says := _says(one.site, one.heap, one.told):
            where = {"bay": Bay.objects.get(uid=one.heap.bay), "ended_on": one.site.day_of(one.heap.ended_at)}
            new = {"site": one.site, **where, "key": one.key, "says": says}
            KeptLesson.objects.update_or_create(uid=one.heap.uid, defaults=new)
            made[one.site.pk] += 1
    return made


def _due(site: Site) -> Iterator[_Due]:
    """The whole ledger of the site is read. Lessons of what is no end any more are taken away."""
    standing = history.standing(site.pk, None, Q())
    heaps = sorted(ended(standing), key=_said_at)
    KeptLesson.objects.filter(site=site).exclude(uid__in=[one.uid for one in heaps]).delete()
    kept = dict(KeptLesson.objects.filter(site=site).values_list("uid", "key"))
    known = tell_before(map(_said_at, heaps), standing, bays_of(site), known_materials(), site.day_of)
    for heap, site_told in zip(heaps, known, strict=True):
        told = site_told and concerning(site_told, [heap.bay])
        key = hashlib.sha256(repr((SHAPE, heap, told)).encode()).hexdigest()
        if told and kept.get(heap.uid) != key:
            yield _Due(site, heap, told, key)


def _said_at(heap: Ended) -> datetime:
    """Not before it lay where it was taken from."""
    return max(min(heap.closed_at + SAID_AFTER, heap.taken_at), heap.came_at + timedelta(microseconds=1))


def _says(site: Site, heap: Ended, told: Told) -> dict[str, Any] | None:
    row = told.rows.get(heap.bay)
    if row not in told.records:
        return None
    said_on, bag_litres = site.day_of(_said_at(heap)), usual_bag_litres()
    ground = ground_of(told, site, (), said_on)
    record = replace(told.records[row], bag_l=bag_litres)
    said = outlooks(ground, {row: record}, the_members(), climate_at(site.pk))[row]
    learnt = learnt_here(said_on)
    days = days_ahead(said, learnt, record)
    closed_on = told.begins + timedelta(days=said.closed)
    ready_on = site.day_of(heap.ready_at) if heap.ready_at else None
    return {
        "shape": SHAPE,
        "said_on": said_on.isoformat(),
        "ready_on": ready_on and ready_on.isoformat(),
        "bag_litres": bag_litres,
        "foretold_bags": asdict(eight_of_ten(bags_ahead(said, learnt)[0])),
        "foretold_ready": asdict(months(told.begins, said.closed, ground.today, days, said.ready_share)),
        "said_bags": asdict(said.said[BAGS]),
        "said_days": asdict(said.said[DAYS]),
        "bags": heap.ml / 1000 / bag_litres,
        "days": ready_on and max((ready_on - closed_on).days, 1),
        "look": record.look,
    }
