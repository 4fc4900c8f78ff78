"""What heaps that came to an end as bags teach: what would have been said of each some weeks after its last load, from
what had been recorded by then, and what came out of it."""

import hashlib
from dataclasses import asdict, replace
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q

from heaps import history
from heaps.foreseeing.ground import bays_of, ground_of, the_members
from heaps.ledger.ended import Ended, ended
from heaps.ledger.living import Told, concerning, tell_before
from heaps.lessons import learnt_here
from heaps.models import Bay, KeptLesson, Site, climate_at, known_materials
from heaps.science.living.outlook import BAGS, DAYS, bags_ahead, days_ahead, outlooks
from heaps.science.living.ranges import eight_of_ten, months
from heaps.usual import usual_bag_litres

#: So long after the last load a heap's own readings say something, and most of the wait still lies ahead.
SAID_AFTER = timedelta(days=45)


def learn_from(site: Site) -> int:
    """Keep a lesson of each ended heap of a site that there is none of yet, or that was corrected; how many were made.

    The oldest first: each is said with what those before it had taught.
    """
    materials = known_materials()
    standing = history.standing(site.pk, None, Q())
    heaps = sorted(ended(standing), key=_said_at)
    KeptLesson.objects.filter(site=site).exclude(uid__in=[one.uid for one in heaps]).delete()
    kept = dict(KeptLesson.objects.filter(site=site).values_list("uid", "key"))
    made, bays = 0, bays_of(site)
    for heap, known in zip(
        heaps, tell_before(map(_said_at, heaps), standing, bays, materials, site.day_of), strict=True
    ):
        told = known and concerning(known, [heap.bay])
        key = hashlib.sha256(repr((heap, told)).encode()).hexdigest()
        if told and kept.get(heap.uid) != key and (says := _says(site, heap, told)):
            where = {"site": site, "bay": Bay.objects.get(uid=heap.bay), "ended_on": site.day_of(heap.ended_at)}
            KeptLesson.objects.update_or_create(uid=heap.uid, defaults={**where, "key": key, "says": says})
            made += 1
    return made


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
