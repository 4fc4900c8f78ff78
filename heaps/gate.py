"""What a phone needs at the gate: the ground as it is now, and what may go in. Nothing about any person."""

import re
from datetime import datetime
from typing import Any

from django.db.models import F, TextField
from django.db.models.functions import Cast
from django.utils.translation import gettext as _

from heaps.foretold import Beside
from heaps.house_rules import accepted_as, is_paused, notices, stricter
from heaps.ledger import BayState, Stage, from_plain, stage
from heaps.models import Bay, Container, Donor, Site, Use, known_materials
from heaps.science.blend import LIQUIDS
from heaps.science.fit import span
from heaps.science.materials import Materials
from heaps.sums import feeding_on, lying, room_l
from heaps.usual import Brought, Usual, dries, feeds, most_used
from heaps.value_words import VALUE_WORDS
from members.models import Cooperative

OFFERED = 6
TILES = 5  # on a phone: the sixth leads to all materials
#: Offered until a site's own records say what is brought most: the usual loads of a shared garden (common practice).
FIRST_OFFERED = ("peelings", "grass-fresh", "coffee", "leaves-mixed", "cardboard", "wood-chip")
#: What people say at the gate for a material that is called something else in the list (common speech).
ALSO_SAID = {
    "peelings": "potato carrot onion skins salad",
    "fruit": "banana melon cores",
    "citrus": "orange lemon grapefruit",
    "grass-fresh": "lawn mowings",
    "coffee": "filter",
    "cardboard": "box parcel",
    "egg-boxes": "carton",
    "meat-fish": "chicken bacon ham sausage",
    "cooked-food": "leftovers pizza soup",
    "dairy": "yoghurt butter",
    "coated-card": "magazine milk carton",
    "treated-wood": "plywood chipboard",
    "twigs": "branches sticks",
    "poultry-manure": "chicken hen droppings",
    "horse-manure": "dung",
    "dog-cat": "poo",
    "weeds-soft": "chickweed",
}
BAG_LITRES = 40  # as the cooperative's own default, before it is set up

Ground = dict[str, Any]


def ground(now: datetime) -> Ground:
    """Sites with bays in order, containers, usual materials, who gives, rules: nine queries, whatever there is."""
    materials = known_materials()
    cooperative = Cooperative.objects.first()
    bays = _by_site(
        Bay.objects.select_related("stored")
        .annotate(
            forecast_of=F("forecast__batch"),
            made_at=F("forecast__carried"),
            balance_json=Cast("forecast__says__balance", TextField()),
        )
        .order_by("position", "name")
    )
    containers = _by_site(Container.objects.order_by("litres", "name"))
    donors = list(Donor.objects.filter(gives=True))
    uses = _by_site(Use.objects.select_related("container").filter(loads__gt=0).order_by("-loads", "pk"))
    return {
        "as_of": now.isoformat(timespec="seconds"),
        "bag_ml": (cooperative.bag_litres if cooperative else BAG_LITRES) * 1000,
        "sites": [
            _site(site, bays.get(site.pk, []), containers.get(site.pk, []), now, materials)
            | _usual(uses.get(site.pk, []), materials)
            | {"donors": _givers(site, donors)}
            | _wants(site, now, materials)
            | _remedies(site, uses.get(site.pk, []), now, materials)
            for site in Site.objects.order_by("name").prefetch_related("gate_rules", "pauses")
        ],
    }


def feedstocks() -> list[list[str | int | float]]:
    """Every material on offer: the word at the gate, why, and what to do instead; without column names, to be short.

    The columns: key, short name, further words it is found by, acceptance, reason, instead, density in kg/m3, group,
    moisture of wet mass, nitrogen of dry mass, C:N.
    """
    return [
        [
            one.key,
            _(one.short),
            _further_words(_(one.short), f"{_(one.name)} {ALSO_SAID.get(one.key, '')}"),
            one.acceptance,
            _(one.reason),
            _(one.instead),
            one.density_kg_m3 or 0,
            "liquid" if one.ash_class in LIQUIDS else one.group,
            *(
                round(value.typical, 5) if value else 0
                for value in (one.moisture_fraction, one.nitrogen_fraction_dry, one.c_to_n)
            ),
        ]
        for one in known_materials().offered()
    ]


def _further_words(short: str, name: str) -> str:
    """The words of the full name that the short one lacks: for finding, not for reading."""
    known = set(re.findall(r"\w+", short.lower()))
    return " ".join(word for word in re.findall(r"\w+", name.lower()) if word not in known)


def _by_site(rows: Any) -> dict[int, list[Any]]:
    sorted_out: dict[int, list[Any]] = {}
    for row in rows:
        sorted_out.setdefault(row.site_id, []).append(row)
    return sorted_out


def _site(site: Site, bays: list[Bay], containers: list[Container], now: datetime, materials: Materials) -> Ground:
    states = {bay.pk: _state(bay) for bay in bays}
    fed = being_fed(bays, states, now)
    return {
        "uid": str(site.uid),
        "name": site.name,
        "fed": str(fed.uid) if fed else None,
        "bays": [_bay(bay, states[bay.pk], now, materials) for bay in bays],
        "containers": [{"uid": str(one.uid), "name": one.name, "filled_ml": one.filled_ml} for one in containers],
    }


def _usual(uses: list[Use], materials: Materials) -> Ground:
    """What is brought most, and in which containers."""
    return {"first": offered_first(uses, materials)[:TILES], "usual": _usual_containers(uses)}


def _givers(site: Site, donors: list[Donor]) -> list[dict[str, str]]:
    """Who gives here, as organisation or kind, after the choice of nobody: never a contact."""
    here = [{"uid": str(one.uid), "name": str(one)} for one in donors if one.site_id in (None, site.pk)]
    return [{"uid": "", "name": _("Nobody else")}, *here] if here else []


def _wants(site: Site, now: datetime, materials: Materials) -> Ground:
    """What the site takes more strictly than the list, a line of what it does not want, and one of when it is open."""
    return {
        "rules": stricter(site.gate_rules.all(), materials),
        "says": _line(notices(site.pauses.all(), site.day_of(now))),
        "open": _line(site.open_times.splitlines()),
    }


def _line(parts: list[str]) -> str:
    return " · ".join(part.strip() for part in parts if part.strip())


def _remedies(site: Site, uses: list[Use], now: datetime, materials: Materials) -> Ground:
    """The usual brown and green, unless the site does not want them now: what is offered, or named as a remedy."""
    brought = [
        Brought(one.feedstock, one.loads, one.container.name, one.container.filled_ml, str(one.container.uid))
        if one.container
        else Brought(one.feedstock, one.loads, None, 0, "")
        for one in uses
    ]
    return {
        "brown": _wanted(most_used(brought, dries, materials), site, now, materials),
        "green": _wanted(most_used(brought, feeds, materials), site, now, materials),
    }


def _wanted(usual: Usual | None, site: Site, now: datetime, materials: Materials) -> Ground | None:
    if usual is None:
        return None
    if accepted_as(usual.feedstock, site.gate_rules.all(), materials)[0] not in ("yes", "with care"):
        return None
    if is_paused(materials[usual.feedstock].group, site.pauses.all(), site.day_of(now)):
        return None
    return {
        "feedstock": usual.feedstock,
        "container": usual.container_uid,
        "container_ml": usual.container_ml,
    }


def being_fed(bays: list[Bay], states: dict[int, BayState], now: datetime) -> Bay | None:
    """The bay that takes the next load: of those filling, the one fed last; else the first empty open one.

    A leaf bin takes leaves only, so it is never offered for everything; one that is marked full takes nothing more.
    """
    usual = [bay for bay in bays if bay.kind != Bay.Kind.LEAF and not bay.is_full and not states[bay.pk].closed_at]
    filling = [bay for bay in usual if stage(states[bay.pk], now) == Stage.FILLING]
    if filling:
        return max(filling, key=lambda bay: _fed_at(states[bay.pk]))
    empty = [bay for bay in usual if not states[bay.pk].batch]
    return next(iter(empty or usual), None)


def offered_first(uses: list[Use], materials: Materials) -> list[str]:
    """The six feedstocks brought most at a site, filled up with the usual ones. `uses` has the most used first."""
    loads: dict[str, int] = {}
    for use in uses:
        loads[use.feedstock] = loads.get(use.feedstock, 0) + use.loads
    used = [
        key
        for key, _ in sorted(loads.items(), key=lambda pair: -pair[1])
        if key in materials and key not in materials.withdrawn
    ]
    return list(dict.fromkeys((*used, *FIRST_OFFERED)))[:OFFERED]


def _usual_containers(uses: list[Use]) -> dict[str, str]:
    usual: dict[str, str] = {}
    for use in uses:
        if use.container:
            usual.setdefault(use.feedstock, str(use.container.uid))
    return usual


def _bay(bay: Bay, state: BayState, now: datetime, materials: Materials) -> Ground:
    return {
        "uid": str(bay.uid),
        "name": bay.name,
        "kind": bay.kind,
        "stage": _("full") if bay.is_full else str(VALUE_WORDS["stage"][stage(state, now)]),
        "closed": state.closed_at is not None,
        "room": 0 if bay.is_full else _rounded(room_l(state, bay.volume_ml, now)),
        "holds": round(bay.volume_ml / 1000),
        "lies": _lies(bay, state),
        "sums": _sums(bay, state, now, materials),
    }


def _lies(bay: Bay, state: BayState) -> list[int]:
    """The least and the most litres that lie there: what a turn moves."""
    if state.batch is None:
        return [0, 0]
    told = [getattr(bay, name, None) for name in ("forecast_of", "made_at", "balance_json")]
    still = Beside(bay.stored.carried, *told).still(state.batch)
    found = span(lying(state.batch, bay.volume_ml / 1000, still))
    return [round(found.least_l), round(found.most_l)]


def _sums(bay: Bay, state: BayState, now: datetime, materials: Materials) -> list[float | None] | None:
    """Wet, dry, carbon and nitrogen in kilograms; nothing where they do not tell what a load does."""
    mix = None if bay.kind == Bay.Kind.LEAF else feeding_on(state, materials, now)
    return [_rounded(kg) for kg in (mix.wet_kg, mix.dry_kg, mix.carbon_kg, mix.nitrogen_kg)] if mix else None


def _rounded(value: float | None) -> float | None:
    """To tenths of a gram or of a millilitre, to be short."""
    return None if value is None else round(value, 4)


def _state(bay: Bay) -> BayState:
    stored = getattr(bay, "stored", None)
    return from_plain(stored.state) if stored else BayState()


def _fed_at(state: BayState) -> datetime:
    assert state.batch  # noqa: S101 - a filling bay has a batch
    return state.batch.fed_at or state.batch.began
