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
    bays = Bay.objects.select_related("site").annotate(state_json=Cast("stored__state", TextField()))
    browns = usual_browns()
    found: dict[tuple[str, str], list[BayNow]] = {}
    for bay in bays.order_by("site__name", "position", "name"):
        row = bay_now(facts_of(bay), bay.state_json, browns.get(bay.site_id), hour)
        found.setdefault((bay.site.name, bay.site.time_zone), []).append(row)
    return [SiteNow(name, zone, tuple(rows)) for (name, zone), rows in found.items()]


def facts_of(bay: Bay) -> BayFacts:
    """What of a bay does not change with the heap. `bay.site` must have been fetched."""
    return BayFacts(
        uid=str(bay.uid),
        name=bay.name,
        kind=str(bay.get_kind_display()),
        is_leaf=bay.kind == Bay.Kind.LEAF,
        volume_ml=bay.volume_ml,
        time_zone=bay.site.time_zone,
    )


def usual_browns() -> dict[int, Brown]:
    """By site: the brown brought most often, in the container it comes in most often."""
    first: dict[int, Container] = {}
    for container in Container.objects.order_by("site", "litres", "name"):
        first.setdefault(container.site_id, container)
    browns = {site: Brown(FIRST_BROWN, container.name, container.filled_ml) for site, container in first.items()}
    uses: dict[int, list[Use]] = defaultdict(list)
    for use in Use.objects.select_related("container"):
        if _dries(use.feedstock):
            uses[use.site_id].append(use)
    for site_id, here in uses.items():
        if brown := _most_used(here, first.get(site_id)):
            browns[site_id] = brown
    return browns


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


def _most_used(uses: Iterable[Use], first: Container | None) -> Brown | None:
    loads: dict[str, int] = defaultdict(int)
    best: dict[str, tuple[int, Container]] = {}
    for use in uses:
        loads[use.feedstock] += use.loads
        if use.container and (use.feedstock not in best or best[use.feedstock][0] < use.loads):
            best[use.feedstock] = (use.loads, use.container)
    feedstock = max(sorted(loads), key=lambda key: loads[key])
    container = best[feedstock][1] if feedstock in best else first
    return Brown(feedstock, container.name, container.filled_ml) if container else None
