"""The board: every bay of every site in its order on the ground, in a fixed number of questions to the database."""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import NamedTuple
from uuid import UUID

from django.db.models import TextField, Value
from django.db.models.functions import Cast
from django.utils.translation import get_language

from heaps import ledger
from heaps.board import adding
from heaps.board.add_words import line
from heaps.board.bay import BayFacts
from heaps.board.figures import BayNow, shown, state_of
from heaps.foretold import Beside, behind
from heaps.models import Bay, Container, Question, Site, Use, known_materials
from heaps.science.living.foresight import Balance
from heaps.science.materials import Materials
from heaps.stewards import Care, parked_in
from heaps.usual import Brought, Usual, dries, most_used, sizes_of

#: Offered where nobody has brought a brown yet.
FIRST_BROWN = "cardboard"


class Row(NamedTuple):
    """A bay with its site and stored state, as the database answers."""

    site_id: int
    site: str
    time_zone: str
    uid: UUID
    name: str
    kind: str
    length_cm: int
    width_cm: int
    height_cm: int
    state_json: str | None
    advice_key: str | None = None
    advice_json: str | None = None
    carried: int | None = None
    forecast_of: str | None = None  # the heap
    forecast_carried: int | None = None
    balance_json: str | None = None

    def still(self, batch: ledger.Batch | None) -> Balance | None:
        """What is still there, by a forecast of this heap that knows of all that was recorded."""
        return Beside(self.carried, self.forecast_of, self.forecast_carried, self.balance_json).still(batch)


@dataclass(frozen=True)
class SiteNow:
    """One site and its bays from the gate on."""

    pk: int
    name: str
    time_zone: str
    bays: tuple[BayNow, ...]

    @property
    def odd(self) -> int:
        """How many remarks wait for a coordinator."""
        return sum(bay.odd for bay in self.bays)


def sites_now(now: datetime) -> list[SiteNow]:
    """Every site as it stands. At most six questions to the database, however many bays there are."""
    hour = now.replace(minute=0, second=0, microsecond=0)
    rows = Bay.objects.order_by("site__name", "position", "name").values_list(
        *("site_id", "site__name", "site__time_zone", "uid", "name", "kind", "length_cm", "width_cm", "height_cm"),
        Cast("stored__state", TextField()),
        "advice__key",
        Cast("advice__recipe", TextField()),
        *("stored__carried", "forecast__batch", "forecast__carried"),
        Cast("forecast__says__balance", TextField()),
        Cast("site__store__counted", TextField()),
    )
    bays = [Row(*row[:-1]) for row in rows]
    materials = known_materials()
    used = what_is_used({bay.site_id for bay in bays}, materials)
    sheds = adding.sheds({row[0]: row[-1] for row in rows}, used, materials)
    found: dict[tuple[int, str, str], list[BayNow]] = {}
    for bay in bays:
        site = (bay.site_id, bay.site, bay.time_zone)
        answer = _row_now(bay, used[bay.site_id].brown, sheds[bay.site_id], hour, materials, get_language())
        found.setdefault(site, []).append(answer)
    return [SiteNow(*site, tuple(here)) for site, here in found.items()]


@lru_cache(maxsize=2_000)
def _row_now(
    row: Row, brown: Usual | None, shed: adding.Shed, now: datetime, materials: Materials, language: str
) -> BayNow:
    """The bay as the board shows it. Same row, hour, materials and language, same answer: so it is kept at hand."""
    volume_ml = row.length_cm * row.width_cm * row.height_cm
    is_leaf = row.kind == Bay.Kind.LEAF
    kind = str(Bay.Kind(row.kind).label)
    facts = BayFacts(str(row.uid), row.name, kind, is_leaf, volume_ml, row.width_cm, row.height_cm, row.time_zone)
    state = state_of(row.state_json)
    still = row.still(state.batch)
    found = shown(facts, state, brown, now, materials, still)
    about = adding.asked(state, is_leaf, shed, now, materials, still)
    if about is None or state.batch is None:
        return found
    recipe = adding.kept(row.advice_json, row.advice_key, about)
    if recipe is None:
        return replace(found, to_reckon=True)
    is_behind = behind(state.batch, still, row.forecast_of == state.batch.uid)
    return replace(found, add=line(recipe, shed, materials, is_behind))


def facts_of(bay: Bay) -> BayFacts:
    """What of a bay does not change with the heap. `bay.site` must have been fetched."""
    is_leaf, kind = bay.kind == Bay.Kind.LEAF, str(Bay.Kind(bay.kind).label)
    return BayFacts(
        str(bay.uid), bay.name, kind, is_leaf, bay.volume_ml, bay.width_cm, bay.height_cm, bay.site.time_zone
    )


def what_is_used(site_ids: set[int], materials: Materials) -> dict[int, adding.Used]:
    """By site: its usual brown, else cardboard, and the containers that loads come in."""
    uses: dict[int, list[Brought]] = defaultdict(list)
    for site_id, feedstock, loads, name, litres, fill, uid in Use.objects.values_list(
        *("site_id", "feedstock", "loads", "container__name", "container__litres", "container__fill_per_cent"),
        "container__uid",
    ):
        uses[site_id].append(Brought(feedstock, loads, name, (litres or 0) * (fill or 0) * 10, str(uid)))
    browns = {site_id: brown for site_id, here in uses.items() if (brown := most_used(here, dries, materials))}
    first = _first_browns() if site_ids - browns.keys() else {}
    return {one: adding.Used(browns.get(one) or first.get(one), sizes_of(uses[one])) for one in site_ids}


def used_at(site: Site, materials: Materials) -> adding.Used:
    """What is used at one site."""
    return what_is_used({site.pk}, materials)[site.pk]


def _first_browns() -> dict[int, Usual]:
    """By site: cardboard in the smallest container."""
    browns: dict[int, Usual] = {}
    for one in Container.objects.order_by("litres", "name"):
        browns.setdefault(one.site_id, Usual(FIRST_BROWN, one.name, one.filled_ml, str(one.uid)))
    return browns


def waiting_for(care: Care) -> tuple[int, int]:
    """How many questions and parked entries wait at the sites of `care`. For all sites that is one question."""
    questions = care.of(Question.objects.order_by().filter(settled_at=None)).values_list(Value("question"))
    rows = questions.union(parked_in(care).order_by().values_list(Value("parked")), all=True)
    kinds = [kind for (kind,) in rows]
    return kinds.count("question"), kinds.count("parked")
