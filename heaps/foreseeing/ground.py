"""A site as the equations ask for it: where its heaps lie, and what happened in them."""

from collections.abc import Collection
from datetime import date
from functools import lru_cache

from heaps.ledger.living import Told
from heaps.models import Bay, Site
from heaps.science.living.outlook import Ground
from heaps.science.living.parameters import MEMBERS, Members, drawn
from heaps.science.living.state import Bay as Place

#: The same members for every heap and every day: what changes from one day to the next is what was recorded.
SEED = 1


def the_members() -> Members:
    """The possible heaps."""
    return _drawn(MEMBERS)


def bays_of(site: Site) -> list[str]:
    """The numbers of a site's bays."""
    return [str(uid) for uid in Bay.objects.filter(site=site).values_list("uid", flat=True)]


def ground_of(told: Told, site: Site, leaves: Collection[str], today: date) -> Ground:
    """The bays in the order of their rows, and what happened in them until today; `leaves` are those that hold only
    leaves."""
    bays = {str(bay.uid): bay for bay in Bay.objects.filter(site=site, uid__in=told.rows)}
    ordered = [bays[uid] for uid, _row in sorted(told.rows.items(), key=lambda one: one[1])]
    return Ground(
        bays=[_place(bay, str(bay.uid) in leaves) for bay in ordered],
        bay_m3=[bay.volume_ml / 1e6 for bay in ordered],
        events=told.events,
        begins=told.begins,
        today=(today - told.begins).days,
    )


@lru_cache(maxsize=2)
def _drawn(count: int) -> Members:
    return drawn(SEED, count)


def _place(bay: Bay, leaf: bool) -> Place:
    """A closed bin has a lid; the others stand in the rain."""
    covered = bay.kind == Bay.Kind.LIDDED
    return Place(bay.length_cm / 100, bay.width_cm / 100, covered, leaf or bay.kind == Bay.Kind.LEAF)
