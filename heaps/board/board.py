"""The board: every bay of every site in its order on the ground, in a fixed number of questions to the database."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import TextField, Value
from django.db.models.functions import Cast

from heaps.board.figures import BayFacts, BayNow, Brown, bay_now
from heaps.models import Bay, Container, Parked, Question, Use
from heaps.science.advice import ROTTED
from heaps.science.feedstocks import FEEDSTOCKS

#: Offered where nobody has brought a brown yet.
FIRST_BROWN = "cardboard"


@dataclass(frozen=True)
class SiteNow:
    """One site and its bays from the gate on."""

    name: str
    time_zone: str
    bays: tuple[BayNow, ...]

    @property
    def odd(self) -> int:
        """How many remarks wait for a coordinator."""
        return sum(bay.odd for bay in self.bays)


def sites_now(now: datetime) -> list[SiteNow]:
    """Every site as it stands. Three questions to the database, however many bays there are."""
    hour = now.replace(minute=0, second=0, microsecond=0)
    browns = usual_browns()
    found: dict[tuple[str, str], list[BayNow]] = {}
    rows = Bay.objects.order_by("site__name", "position", "name").values_list(
        *("site_id", "site__name", "site__time_zone", "uid", "name", "kind", "length_cm", "width_cm", "height_cm"),
        Cast("stored__state", TextField()),
    )
    for site_id, site, zone, uid, name, kind, length, width, height, state_json in rows:
        facts = _facts(str(uid), name, kind, length * width * height, zone)
        found.setdefault((site, zone), []).append(bay_now(facts, state_json, browns.get(site_id), hour))
    return [SiteNow(name, zone, tuple(bays)) for (name, zone), bays in found.items()]


def facts_of(bay: Bay) -> BayFacts:
    """What of a bay does not change with the heap. `bay.site` must have been fetched."""
    return _facts(str(bay.uid), bay.name, bay.kind, bay.volume_ml, bay.site.time_zone)


def usual_browns() -> dict[int, Brown]:
    """By site: the brown brought most often, in the container it comes in most often."""
    first: dict[int, tuple[str, int]] = {}
    known: dict[int, tuple[str, int]] = {}
    containers = Container.objects.order_by("site", "litres", "name")
    for container in containers.only("pk", "site_id", "name", "litres", "fill_per_cent"):
        known[container.pk] = (container.name, container.filled_ml)
        first.setdefault(container.site_id, known[container.pk])
    uses: dict[int, list[tuple[str, int | None, int]]] = defaultdict(list)
    for site_id, feedstock, container_id, loads in Use.objects.values_list(
        "site_id", "feedstock", "container_id", "loads"
    ):
        if _dries(feedstock):
            uses[site_id].append((feedstock, container_id, loads))
    return {site_id: _most_used(uses[site_id], known, container) for site_id, container in first.items()}


def waiting_for_coordinators() -> tuple[int, int]:
    """How many questions and how many parked entries wait, in one question to the database."""
    questions = Question.objects.order_by().filter(settled_at=None).values_list(Value("question"))
    rows = questions.union(Parked.objects.order_by().values_list(Value("parked")), all=True)
    kinds = [kind for (kind,) in rows]
    return kinds.count("question"), kinds.count("parked")


def _dries(feedstock: str) -> bool:
    """Whether it is a brown or a structural material; what has rotted already is neither."""
    stuff = FEEDSTOCKS.get(feedstock)
    return stuff is not None and stuff.group in ("brown", "structural") and stuff.ash_class not in ROTTED


def _most_used(
    uses: Iterable[tuple[str, int | None, int]], known: dict[int, tuple[str, int]], first: tuple[str, int]
) -> Brown:
    """The brown with most loads, and the container with most of these; without any, cardboard in the first one."""
    loads: dict[str, int] = defaultdict(int)
    best: dict[str, tuple[int, int]] = {}
    for feedstock, container_id, number in uses:
        loads[feedstock] += number
        if container_id is not None:
            best[feedstock] = max(best.get(feedstock, (0, 0)), (number, container_id))
    feedstock = max(sorted(loads), key=lambda key: loads[key], default=FIRST_BROWN)
    name, filled_ml = known[best[feedstock][1]] if feedstock in best else first
    return Brown(feedstock, name, filled_ml)


def _facts(uid: str, name: str, kind: str, volume_ml: int, time_zone: str) -> BayFacts:
    return BayFacts(uid, name, str(Bay.Kind(kind).label), kind == Bay.Kind.LEAF, volume_ml, time_zone)
