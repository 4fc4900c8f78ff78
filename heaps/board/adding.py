"""What to add to a heap: reckoned once for the same heap, store and targets, and kept beside the bay's state.

Nothing here is reckoned while entries come in. The board shows what is kept, if it still holds; whoever opens a heap's
page has it reckoned, and the board's own script asks for what it lacks.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Any, NamedTuple

from django.db.models import TextField
from django.db.models.functions import Cast

from heaps import ledger
from heaps.models import Bay, KeptAdvice, Site, targets_here
from heaps.science.advice import HOT_C
from heaps.science.blend import Mix
from heaps.science.effect import CAN_L
from heaps.science.fewest import Choice, Pile, added
from heaps.science.living.foresight import Balance
from heaps.science.materials import Materials
from heaps.science.recipe import Outcome, Recipe, cans, pile, recipe, settled, still_best, usually_found
from heaps.science.targets import ACCEPTABLE, LEFT_ALONE, MOST_AT_ONCE, Targets, as_felt
from heaps.store import Held, Sizes, held
from heaps.sums import fresh, lies_now
from heaps.usual import Usual

#: What has to be fetched is told in the container that the usual brown comes in; in sacks where nothing came yet.
A_SACK_ML = 60_000
#: What could go into a heap out of a store; what has rotted, soil and minerals are no remedy.
GROUPS, ANSWERS = ("green", "brown", "structural"), ("yes", "with care")


class Used(NamedTuple):
    """What a site uses: its usual brown, and the containers that loads come in."""

    brown: Usual | None
    sizes: Sizes


@dataclass(frozen=True, eq=False)
class Shed:
    """What all heaps of one site share: what is in store, a container to fetch in, and what heaps are brought to.

    Each is equal to itself only, and made once for the same things, so that what was made of it is found at once.
    """

    held: tuple[Held, ...]
    fetch_ml: int
    fetch_in: str
    targets: Targets


@dataclass(frozen=True)
class Asked:
    """All that a recipe depends on. `piles` stand in store; one that is used up has none left."""

    mix: Mix
    piles: tuple[Pile, ...]
    found: tuple[Pile, ...]
    aims: tuple[Targets, ...]

    @property
    def key(self) -> str:
        """A short name for all of it but the numbers in store."""
        piles = [(one.key, one.one, one.containers) for one in self.piles]
        return hashlib.sha256(repr((self.mix, piles, self.found, self.aims)).encode()).hexdigest()

    @property
    def stands(self) -> dict[str, int]:
        """How many of each stand in store."""
        return {one.key: one.count for one in self.piles}

    @property
    def by_key(self) -> dict[str, Pile]:
        """Every pile that a choice can name."""
        return {one.key: one for one in (*self.piles, *self.found)}


def sheds(stores: Mapping[int, str | None], used: Mapping[int, Used], materials: Materials) -> dict[int, Shed]:
    """By site, from the stored stocks. One question to the database, however many sites there are."""
    targets = targets_here()
    return {site_id: _shed(counted, used[site_id], targets, materials) for site_id, counted in stores.items()}


def shed_of(site: Site, used: Used, materials: Materials) -> Shed:
    """That of one site."""
    stores = Site.objects.filter(pk=site.pk).annotate(counted=Cast("store__counted", TextField()))
    return sheds(dict(stores.values_list("pk", "counted")), {site.pk: used}, materials)[site.pk]


@lru_cache(maxsize=200)
def _shed(counted_json: str | None, used: Used, targets: Targets, materials: Materials) -> Shed:
    brown = used.brown
    fetched = (brown.container_ml, brown.container) if brown else (A_SACK_ML, "")
    return Shed(held(counted_json, used.sizes, materials), *fetched, targets)


def asked(
    state: ledger.BayState, is_leaf: bool, shed: Shed, now: datetime, materials: Materials, still: Balance | None = None
) -> Asked | None:
    """What is asked about a heap that is fed or works; None of one that is past that, of leaves, or too hot to touch.

    `still` is what a fresh forecast says is there. Hot ones are turned and watered first: what to add is asked of what
    comes out of that.
    """
    batch = state.batch
    if batch is None or is_leaf or ledger.stage(state, now) not in (ledger.Stage.FILLING, ledger.Stage.WORKING):
        return None
    tenths_c = fresh(batch.temp, batch, now)
    if tenths_c is not None and int(tenths_c) / 10 > HOT_C:
        return None
    mix = as_felt(lies_now(batch, materials, still), fresh(batch.squeeze, batch, now))
    if settled(mix):
        return None
    return Asked(mix, piles_of(shed, materials), found_for(shed, materials), (shed.targets, ACCEPTABLE, LEFT_ALONE))


@lru_cache(maxsize=200)
def piles_of(shed: Shed, materials: Materials) -> tuple[Pile, ...]:
    """What stands in store and may go in, and water: a tap or a butt is always near (common practice)."""
    wanted = (
        one
        for one in shed.held
        if materials[one.feedstock].group in GROUPS and materials[one.feedstock].acceptance in ANSWERS
    )
    piles = (pile(materials[one.feedstock], one.container_ml / 1000, one.containers) for one in wanted)
    return (*piles, cans(CAN_L, MOST_AT_ONCE))


@lru_cache(maxsize=200)
def found_for(shed: Shed, materials: Materials) -> tuple[Pile, ...]:
    """What could be fetched. Water stands there already."""
    found = usually_found(shed.fetch_ml / 1000, CAN_L, materials)
    return tuple(one for one in found if one.one.dry_kg)


def kept(plain_json: str | None, key: str | None, about: Asked) -> Recipe | None:
    """The recipe that was kept, if it is still what would be answered."""
    if plain_json is None or key != about.key:
        return None
    plain = json.loads(plain_json)
    found = _from_plain(plain, about)
    return found if still_best(found, plain["stood"], about.stands) else None


def answered(bay: Bay, about: Asked) -> Recipe:
    """What to add, from what is kept, or reckoned now and kept."""
    one = KeptAdvice.objects.filter(bay=bay).first()
    if one and (found := kept(json.dumps(one.recipe), one.key, about)):
        return found
    found = reckoned(about)
    new = {"key": about.key, "recipe": _to_plain(found, about)}
    KeptAdvice.objects.update_or_create(bay=bay, defaults=new)
    return found


def reckoned(about: Asked) -> Recipe:
    """The recipe, made anew."""
    standing = [one for one in about.piles if one.count]
    return recipe(about.mix, standing, about.found, about.aims)


def wanting(choice: Choice, missing: Sequence[str]) -> dict[str, int]:
    """What of a choice has to be fetched, by feedstock."""
    return {key.partition(",")[0]: count for key, count in choice.counts.items() if key in missing}


def _to_plain(found: Recipe, about: Asked) -> dict[str, Any]:
    choices = [[dict(one.counts), about.aims.index(one.targets)] for one in found.choices]
    return {"outcome": found.outcome, "choices": choices, "missing": list(found.missing), "stood": about.stands}


def _from_plain(plain: dict[str, Any], about: Asked) -> Recipe:
    """The mixes are added up again: that is quick, and what is kept stays small."""
    piles = {**about.by_key, **{one.key: replace(one, fetched=True) for one in about.found}}
    choices = []
    for counts, aim in plain["choices"]:
        taken = [(piles[key], count) for key, count in counts.items()]
        containers = sum(one.containers * count for one, count in taken)
        choices.append(Choice(counts, containers, added(about.mix, taken), about.aims[aim]))
    return Recipe(Outcome(plain["outcome"]), tuple(choices), tuple(plain["missing"]))
