"""One bay now: its state, put through the sums of the mix and the line of advice."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from django.utils.translation import gettext as _

from heaps import ledger
from heaps.board.bay import BayFacts
from heaps.board.drawing import SMALL_ROOM, Section, section_of
from heaps.board.words import LINES, need_line
from heaps.ledger.heap import Content, Mark
from heaps.look_again import LookAgain, look_again
from heaps.science.advice import AT_REST, Need, Signs, need
from heaps.science.blend import PACKING
from heaps.science.living.foresight import Balance
from heaps.science.materials import Materials
from heaps.sums import fresh, lies_now, mix_of, not_sunk
from heaps.usual import Usual

#: The groups a heap is drawn in, from the ground up: coarse stuff lies at the bottom of a well-built heap.
GROUPS = ("green", "brown", "structural", "mineral")
#: How many materials a board line names; the heap's own page names them all.
TOP_MATERIALS = 3
LEAST_SHARE = 0.005  # less would be told as 0 per cent


@dataclass(frozen=True)
class Fill:
    """How full, in per cent of the bay; `day` is that of the look, None for an estimate from what was tipped."""

    per_cent: int
    day: date | None


@dataclass(frozen=True)
class Temperature:
    """The last reading."""

    tenths_c: int
    day: date


class Share(NamedTuple):
    """A group's part of what was tipped, by volume as tipped."""

    group: str
    fraction: float


@dataclass(frozen=True)
class Squeeze:
    """The last squeeze test."""

    result: str
    day: date


@dataclass(frozen=True, eq=False)
class BayNow:
    """One bay as the board shows it. Numbers are as they are; the template rounds them, once.

    `add` is what to add from the store; beside it `plain_need` stands, without a rough number of containers.
    `to_reckon` says that nobody has reckoned `add` yet for how the heap stands now.

    Each is equal to itself only, so that what is drawn of it can be found again by it without a comparison.
    """

    bay: BayFacts
    today: date
    stage: str
    closed_on: date | None
    shares: tuple[Share, ...]
    materials: tuple[tuple[str, int], ...]
    other_materials: int
    wet_g: int
    tipped_ml: int
    guessed: bool
    fill: Fill | None
    c_to_n: float | None
    moisture_fraction: float | None
    free_air_space: float | None
    temperature: Temperature | None
    squeeze: Squeeze | None
    need: str
    plain_need: str
    odd: int
    small: Section
    again: tuple[LookAgain, ...] = ()
    add: str = ""
    to_reckon: bool = False
    asks_for_work: bool = False

    @property
    def waits(self) -> bool:
        """Whether somebody should do or look at something here."""
        return self.asks_for_work or bool(self.again)

    @property
    def is_empty(self) -> bool:
        """Whether nothing lies here."""
        return self.stage == ledger.Stage.EMPTY


def state_of(state_json: str | None) -> ledger.BayState:
    """A bay's state from its stored text; an untouched bay has none."""
    return ledger.from_plain(json.loads(state_json)) if state_json else ledger.BayState()


def shown(
    bay: BayFacts,
    state: ledger.BayState,
    brown: Usual | None,
    now: datetime,
    materials: Materials,
    still: Balance | None = None,
) -> BayNow:
    """The figures of one bay, as it went in; what it needs is told of what is `still` there, if that is known."""
    batch = state.batch
    content = batch.content if batch else {}
    mix = mix_of(content, materials, batch.water_ml) if batch else None
    made_of = by_material(content, materials)
    fill = _fill(bay, state, now)
    layers = batch.layers if batch else ()
    needs = need_of(state, brown, now, materials, still)
    return BayNow(
        bay=bay,
        today=bay.day_of(now),
        stage=str(ledger.stage(state, now)),
        closed_on=bay.day_of(state.closed_at) if state.closed_at else None,
        shares=_shares(content, materials),
        materials=tuple(made_of[:TOP_MATERIALS]),
        other_materials=len(made_of[TOP_MATERIALS:]),
        wet_g=batch.wet_g if batch else 0,
        tipped_ml=batch.volume_ml if batch else 0,
        guessed=bool(batch and batch.guessed),
        fill=fill,
        c_to_n=mix.c_to_n if mix else None,
        moisture_fraction=mix.moisture_fraction if mix else None,
        free_air_space=mix.free_air_space if mix else None,
        temperature=_temperature(bay, batch.temp) if batch else None,
        squeeze=_squeeze(bay, batch.squeeze) if batch else None,
        need=need_line(needs, materials[brown.feedstock] if brown else None, brown.container if brown else ""),
        plain_need=str(LINES[needs.code]),
        odd=len(state.remarks),
        small=section_of(bay, layers, fill.per_cent if fill else None, materials, SMALL_ROOM),
        again=look_again(batch, bay.day_of, now),
        asks_for_work=needs.code not in AT_REST,
    )


def need_of(
    state: ledger.BayState, brown: Usual | None, now: datetime, materials: Materials, still: Balance | None = None
) -> Need:
    """The one thing this heap needs next."""
    batch = state.batch
    if batch is None:
        return need(None, Signs(), str(ledger.Stage.EMPTY))
    signs = Signs(
        squeeze=fresh(batch.squeeze, batch, now),
        fill_per_cent=_number(fresh(batch.fill, batch, now)),
        temp_c=None if (tenths := _number(fresh(batch.temp, batch, now))) is None else tenths / 10,
    )
    feedstock = materials[brown.feedstock] if brown else None
    container_l = brown.container_ml / 1000 if brown else 0.0
    mix = lies_now(batch, materials, still)
    return need(mix, signs, str(ledger.stage(state, now)), feedstock, container_l)


def by_material(content: Mapping[str, ledger.Load], materials: Materials) -> list[tuple[str, int]]:
    """What it is made of: names and grams, the heaviest first; weighed and estimated together."""
    grams: dict[str, int] = {}
    for key, load in content.items():
        name = _(materials[key.partition("/")[0]].short)
        grams[name] = grams.get(name, 0) + load.wet_g
    return sorted(grams.items(), key=lambda one: (-one[1], one[0]))


def _shares(content: Content, materials: Materials) -> tuple[Share, ...]:
    litres = dict.fromkeys(GROUPS, 0)
    for key, load in content.items():
        litres[materials[key.partition("/")[0]].group] += load.volume_ml
    total = sum(litres.values())
    return tuple(Share(group, part / total) for group, part in litres.items() if part >= LEAST_SHARE * total > 0)


def _fill(bay: BayFacts, state: ledger.BayState, now: datetime) -> Fill | None:
    """The last look; without one, what was tipped, as long as the heap is too young to have sunk or been turned."""
    batch = state.batch
    if batch is None:
        return None
    if batch.fill:
        return Fill(int(batch.fill.value), bay.day_of(batch.fill.at))
    if not not_sunk(batch, now):
        return None
    return Fill(round(100 * batch.volume_ml / PACKING / bay.volume_ml), None)


def _temperature(bay: BayFacts, mark: Mark | None) -> Temperature | None:
    return Temperature(int(mark.value), bay.day_of(mark.at)) if mark else None


def _squeeze(bay: BayFacts, mark: Mark | None) -> Squeeze | None:
    return Squeeze(str(mark.value), bay.day_of(mark.at)) if mark else None


def _number(text: str | None) -> float | None:
    return None if text is None else float(text)
