"""A hot heap: what to build it of, in layers, and its first three weeks, in words."""

from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from heaps import ledger
from heaps.board import adding
from heaps.board.add_words import amounts
from heaps.board.board import used_at
from heaps.board.words import lower_first
from heaps.models import Bay, HotHeap, known_materials
from heaps.science import hot_heap
from heaps.science.hot_heap import THREE_WEEKS, Obstacle, Task
from heaps.science.materials import Materials
from heaps.science.recipe import WATER, pile, too_heavy_for_one

#: Asked about besides what is in store: greens that come in heaps, and the usual browns (common practice).
USUAL = ("grass-fresh", "horse-manure-straw", "peelings", "weeds-soft", "cardboard", "leaves-mixed", "wood-chip-leafy")
LAST_DAY = 21
MOST = 99
TASKS = {
    "coarse base": _lazy("Lay a hand's depth of twigs or chip first, for air from below."),
    "layers, each watered": _lazy("Build in layers. Water each one until a handful drips."),
    "browns and lid on top": _lazy("Cap it with a hand's depth of browns. Put a lid or a sheet on."),
    "probe each day": _lazy("Probe the core each day and record it."),
    "40 C by now": _lazy("It should be at 40 °C or more by now."),
    "cold by now: read the signs": _lazy("Still cold? Squeeze a handful, smell it, and read the signs."),
    "turn over 65 C, or when it cools": _lazy("Turn it when it is over 65 °C, or once it cools. Outside goes inside."),
    "squeeze and water at each turn": _lazy("At each turn squeeze a handful. Water it if it does not hold together."),
    "turn at least each week": _lazy("Turn it once a week at least."),
    "probe several places, twice a week": _lazy("Probe core, edge, top and base, twice a week."),
    "no new heat after a turn: let it mature": _lazy("No new heat after a turn, damp as it is? Let it mature."),
}
OBSTACLES = {
    Obstacle.TOO_BROWN: _lazy("too brown: add greens"),
    Obstacle.TOO_DRY: _lazy("too dry: water each layer"),
    Obstacle.TOO_WET: _lazy("too wet: add dry browns"),
    Obstacle.AIRLESS: _lazy("too little air: add twigs or chip"),
    Obstacle.ROTTED: _lazy("rotted already, or soil: it has no heat left"),
    Obstacle.SMALL: _lazy("small: under 1,000 litres it seldom stays hot"),
}


@dataclass(frozen=True)
class Line:
    """One material that can be built with: its field, how many containers are there, and how large they are.

    `typed` stands in the field; without a `count` it is no number of containers, and nothing is built of a guess.
    """

    key: str
    name: str
    size: str
    container_ml: int
    typed: str
    count: int | None


@dataclass(frozen=True)
class Built:
    """What to build, in words: all of it, each layer, its size, what keeps it cold, what it lacks, what is heavy."""

    whole: str
    layers: int
    each: tuple[str, ...]
    least_l: float
    most_l: float
    obstacles: tuple[str, ...]
    missing: str
    heavy: tuple[tuple[str, float], ...]


def lines_for(bay: Bay, typed: dict[str, str]) -> tuple[list[Line], adding.Shed, Materials]:
    """What could be there: the store as counted, and the usual stuff; `typed` numbers hold over the store's."""
    materials = known_materials()
    shed = adding.shed_of(bay.site, used_at(bay.site, materials), materials)
    standing = {one.key: one for one in adding.piles_of(shed, materials) if one.key != WATER}
    sizes = {one.feedstock: (one.container, one.container_ml) for one in shed.held}
    lines = []
    for key in dict.fromkeys((*standing, *USUAL)):
        container, container_ml = sizes.get(key, (shed.fetch_in, shed.fetch_ml))
        known = min(standing[key].count, MOST) if key in standing else 0
        said = typed.get(key, str(known)).strip()
        size = lower_first(container) if container else _("%(litres)s litres") % {"litres": container_ml // 1000}
        lines.append(Line(key, _(materials[key].short), size, container_ml, said, _count(said)))
    return lines, shed, materials


def _count(said: str) -> int | None:
    """So many containers; an empty field is none of them, and what is no number from 0 to `MOST` is None."""
    if not said:
        return 0
    count = int(said) if said.isascii() and said.isdigit() and len(said) <= len(str(MOST)) else None
    return count if count is not None and count <= MOST else None


def build(bay: Bay, lines: list[Line], shed: adding.Shed, materials: Materials) -> Built:
    """The largest heap in range that comes of it, or what keeps all of it from heating."""
    there = [pile(materials[one.key], one.container_ml / 1000, one.count) for one in lines if one.count]
    piles = [*there, next(one for one in adding.piles_of(shed, materials) if one.key == WATER)]
    area_m2 = bay.length_cm * bay.width_cm / 10_000
    found = hot_heap.hot_heap(
        piles, area_m2, bay.volume_ml / 1000, adding.found_for(shed, materials), targets=shed.targets
    )
    sized_by = {one.key: one for one in lines}
    choice, there_already = found.choice, {one.key for one in piles}
    lacks = found.missing.counts.items() if found.missing else ()
    missing = {key: count for key, count in lacks if key not in there_already}
    return Built(
        whole=amounts(dict(choice.counts), shed, materials) if choice else "",
        layers=found.layers,
        each=tuple(_each(one, sized_by) for one in found.each if one.containers),
        least_l=found.least_l,
        most_l=found.most_l,
        obstacles=tuple(str(OBSTACLES[one]) for one in found.obstacles),
        missing=amounts(missing, shed, materials) if missing else "",
        heavy=tuple(
            (lower_first(sized_by[key].name), kg)
            for key, kg in (too_heavy_for_one(choice, piles) if choice else {}).items()
            if key in sized_by
        ),
    )


def _each(layer: hot_heap.Layer, lines: dict[str, Line]) -> str:
    """What of one material goes into each layer."""
    number = _parts(layer.containers)
    if layer.key == WATER:
        return _("%(number)s × can of water") % {"number": number}
    line = lines[layer.key]
    return _("%(number)s × %(size)s of %(material)s") % {
        "number": number,
        "size": line.size,
        "material": lower_first(line.name),
    }


def _parts(containers: float) -> str:
    whole, part = divmod(round(containers * 4), 4)
    return f"{whole or ''}{('', '¼', '½', '¾')[part]}"


@dataclass(frozen=True)
class Checklist:
    """The first three weeks of a hot heap: which day it is, what is due now, and what comes."""

    built_on: date
    day: int
    now: tuple[str, ...]
    later: tuple[tuple[int, str], ...]
    before: tuple[str, ...]


def may_be_built(bay: Bay, state: ledger.BayState, today: date) -> bool:
    """Whether a hot heap can be built in a bay today: it is empty, or all that lies there was begun today.

    A turn begins a new batch, so what it came from is looked at, too. `bay.site` must have been fetched.
    """
    batch = state.batch
    if batch is None:
        return True
    began = [batch.began, *(one.began for one in batch.ancestors.values())]
    return all(bay.site.day_of(moment) == today for moment in began)


def hot_heap_in(bay: Bay, state: ledger.BayState, now: datetime) -> HotHeap | None:
    """The hot heap that lies in a bay, if it was built in the last three weeks, here or elsewhere.

    `bay.site` must have been fetched.
    """
    batch = state.batch
    if batch is None:
        return None
    today = bay.site.day_of(now)
    lays = [(batch.bay, batch.began, now), *((one.bay, one.began, one.ended) for one in batch.ancestors.values())]
    for one in HotHeap.objects.filter(bay__site=bay.site_id).select_related("bay"):
        lay_there = (
            uid == str(one.bay.uid) and bay.site.day_of(began) <= one.built_on <= bay.site.day_of(ended)
            for uid, began, ended in lays
        )
        if 0 <= (today - one.built_on).days <= LAST_DAY and any(lay_there):
            return one
    return None


def three_weeks(built_on: date, today: date) -> Checklist:
    """The checklist as it stands on a day, what begins first standing first."""
    day = (today - built_on).days
    tasks = sorted(THREE_WEEKS, key=lambda one: one.first_day)
    return Checklist(
        built_on,
        day,
        now=tuple(_task(one) for one in tasks if one.first_day <= day <= one.last_day),
        later=tuple((one.first_day, _task(one)) for one in tasks if one.first_day > day),
        before=tuple(_task(one) for one in tasks if one.last_day < day),
    )


def _task(one: Task) -> str:
    return str(TASKS[one.key])
