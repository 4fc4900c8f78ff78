"""What people do to the heaps of a world, and how poorly it gets written down."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from cooperative.twin.lies import CORE, MIDDLE, Lies, tip, turn
from cooperative.twin.records import Came, Kept, Read, Tipped
from cooperative.twin.stuff import MATERIALS, load
from cooperative.twin.truth import Day, live_a_day
from cooperative.twin.worlds import Nature, World
from heaps.science.climate import UK_LOWLAND, evaporation_mm
from heaps.science.living.learning import LOOKS
from heaps.science.living.parameters import Array

FIRST_DAY, BAG_L, HIGH_M = date(2030, 1, 1), 45.0, 1.1
KEYS = tuple(MATERIALS)
#: How poor the records are: loads that nobody recorded, litres guessed each time and by each cooperative's habit,
#: weeks without a reading, kelvin, share of a mark and metres of it.
MISSED, LITRES, HABIT, UNREAD, PROBE_K, MARK, MARK_M = 0.08, 0.25, 0.12, 0.25, 1.0, 0.05, 0.02
#: A verdict is off by so much, comes once a week, not while it is warm, and not in the first weeks.
EYE, WEEK, COOL_K, FIRST_WEEKS = 0.08, 7, 12.0, 21
LATE_DAYS, BAGS_OFF, LOOK_DAYS, LOOK_OFF = 15.0, 0.06, 60, 0.25
#: So long after the last load it is taken out as it is.
PATIENCE_DAYS, LONGEST_DAYS = 540, 1000


@dataclass(frozen=True)
class _Plan:
    """All heaps of a world side by side: heaps x 1, loads as days x heaps x materials in litres."""

    begins: NDArray[np.int_]  # days after FIRST_DAY
    length_m: Array
    breadth_m: Array
    covered: Array
    litres: Array
    last: NDArray[np.int_]
    turns: NDArray[np.int_]
    dense: Array
    damp: Array
    air_off: Array

    @property
    def bay_m3(self) -> Array:
        """What a bay holds when it is level full."""
        return self.length_m * self.breadth_m * HIGH_M


@dataclass
class _Book:
    """What is noted as the days go by, by the number of a heap."""

    tipped: list[list[tuple[int, Array]]]
    readings: list[list[Read]]
    ready: NDArray[np.int_]
    fetched: NDArray[np.int_]
    came: dict[int, Came]


def live(world: World, coops: int, heaps: int) -> tuple[tuple[Kept, ...], dict[str, Came]]:
    """The heaps of a world as they were recorded, and what came of those that were ready within LONGEST_DAYS."""
    nature, plan, count = world.nature(coops, heaps), _plan(world, coops, heaps), coops * heaps
    book = _Book([[] for _ in range(count)], [[] for _ in range(count)], np.full(count, -1), np.full(count, -1), {})
    _go(world, nature, plan, book, coops)
    kept = tuple(_written(world, plan, book, number, number // heaps) for number in range(count))
    return kept, {kept[number].heap: came for number, came in book.came.items()}


def _plan(world: World, coops: int, heaps: int) -> _Plan:
    chance, count = world.random(2), coops * heaps
    area, shape = chance.uniform(0.8, 1.9, count), chance.uniform(0.8, 1.25, count)
    length = np.sqrt(area * shape)
    last = chance.integers(60, 201, count)
    mixes = np.repeat(chance.dirichlet(15 * np.array(list(MATERIALS.values())), coops), heaps, axis=0)
    wanted = area * HIGH_M * 1000 * chance.uniform(1.2, 2.6, count)
    turns = np.cumsum(np.concatenate([chance.integers(5, 60, (count, 1)), chance.integers(14, 60, (count, 2))], 1), 1)
    turned = chance.integers(0, 4, count)[:, None] > np.arange(3)
    per_coop = [np.repeat(chance.standard_normal((coops, len(KEYS))), heaps, axis=0) for _ in range(2)]
    return _Plan(
        begins=chance.integers(0, 365, count),
        length_m=length,
        breadth_m=area / length,
        covered=(chance.random(count) < 0.7).astype(float)[:, None],
        litres=np.stack(list(_rounds(chance, last, mixes, wanted))),
        last=last,
        turns=np.where(turned, last[:, None] + turns, -1),
        dense=np.exp(0.20 * per_coop[0]),
        damp=np.exp(0.10 * per_coop[1]),
        air_off=np.repeat(chance.normal(0, 1.0, coops), heaps)[:, None],
    )


def _rounds(
    chance: np.random.Generator, last: NDArray[np.int_], mixes: Array, wanted: Array
) -> Iterator[Array]:  # fmt: skip
    """About a round a week, each of another mix."""
    count = len(last)
    for day in range(int(last.max()) + 1):
        comes = ((chance.random(count) < 1 / WEEK) & (day < last)) | (day == last) | (day == 0)
        parts = chance.gamma(np.maximum(4 * mixes, 0.02))
        shares = parts / parts.sum(1, keepdims=True)
        round_l = wanted * WEEK / last * chance.lognormal(-0.1, 0.45, count)
        yield np.where(comes[:, None], shares * round_l[:, None], 0.0)


def _go(world: World, nature: Nature, plan: _Plan, book: _Book, coops: int) -> None:
    chance, on = world.random(3), np.arange(len(plan.last))
    w = world.random(4)
    depth, mark = w.uniform(0.3, 1.0, len(on)), np.repeat(w.normal(0, 0.06, coops), len(on) // coops)
    lies = Lies.nothing(plan.length_m * plan.breadth_m, np.full(len(on), 10.0))
    drift = np.zeros((len(on), 1))
    for day in range(LONGEST_DAYS):
        if not len(on):
            return
        drift = 0.8 * drift + chance.normal(0, 1.5, drift.shape)
        weather = _weather(plan, on, day, drift, chance)
        _deeds(lies, nature, plan, book, (on, day), weather.air_c)
        live_a_day(lies, nature, weather, plan.covered[on])
        _visits(lies, nature, plan, book, (on, day), (chance, weather.air_c, depth, mark))
        stays = (book.fetched[on] < 0) | (book.fetched[on] > day)
        if not stays.all():
            _fetch(lies, nature, book, (on, day), (chance, plan, ~stays))
            lies, nature, drift, on = lies.some(stays), nature.some(stays), drift[stays], on[stays]


def _weather(plan: _Plan, on: NDArray[np.int_], day: int, drift: Array, chance: np.random.Generator) -> Day:
    usual = [UK_LOWLAND.on(FIRST_DAY + timedelta(days=int(begin) + day)) for begin in plan.begins[on]]
    air = np.array([[one] for one, _ in usual]) + plan.air_off[on] + drift
    rain = np.array([[one] for _, one in usual]) * chance.gamma(0.4, 2.5, drift.shape)
    return Day(air, np.full_like(air, 4.0), rain, np.vectorize(evaporation_mm)(air))


def _deeds(
    lies: Lies, nature: Nature, plan: _Plan, book: _Book, now: tuple[NDArray[np.int_], int], air_c: Array
) -> None:
    on, day = now
    if day < len(plan.litres) and plan.litres[day, on].any():
        room = lies.volume_m3[:, 0] < 1.1 * plan.bay_m3[on]
        room |= plan.last[on] == day  # somebody always puts the last one on top
        litres = np.where(room[:, None], plan.litres[day, on], 0.0)
        tip(lies, load(litres, KEYS, plan.dense[on], plan.damp[on], nature), air_c)
        for number, row in zip(on, litres, strict=True):
            if row.any():
                book.tipped[number].append((day, row))
    which = (plan.turns[on] == day).any(1)[:, None]
    if which.any():
        turn(lies, nature, which, air_c)


def _visits(
    lies: Lies,
    nature: Nature,
    plan: _Plan,
    book: _Book,
    now: tuple[NDArray[np.int_], int],
    how: tuple[np.random.Generator, Array, Array, Array],
) -> None:
    """Once a week, each heap on its own weekday: a probe, now and then a mark, and after closing a verdict."""
    on, day = now
    chance, air_c, depth, mark = how
    luck, noise, eye = chance.random((2, len(on))), chance.standard_normal((3, len(on))), lies.recognisable[:, 0]
    full = lies.volume_m3[:, 0] / plan.bay_m3[on]
    warm = depth[on] * lies.temp_c[:, CORE] + (1 - depth[on]) * lies.temp_c[:, MIDDLE] + PROBE_K * noise[0]
    share = full * np.exp(mark[on] + MARK * noise[1]) + MARK_M / HIGH_M * noise[2]
    judged = eye * np.exp(EYE * chance.standard_normal(len(on)))
    looked = np.clip((eye - 0.36) / 0.34, 0.03, 1) * np.exp(LOOK_OFF * chance.standard_normal(len(on)))
    for place, number in enumerate(on):
        since = day - int(plan.last[number])
        when = _day(plan, number, day)
        if since == LOOK_DAYS and book.ready[number] < 0:
            book.readings[number].append(Read(when, look=_word(float(looked[place]))))
        if (day + number) % WEEK or lies.volume_m3[place, 0] < 0.03:
            continue
        if luck[0, place] > UNREAD:
            book.readings[number].append(Read(when, core_c=round(float(warm[place]), 1)))
        if luck[1, place] < 0.5 and share[place] > 0.02:
            book.readings[number].append(Read(when, fill=round(float(share[place]), 2)))
        cool = warm[place] - air_c[place, 0] < COOL_K
        rotten = judged[place] < nature.eye[place, 0] or since > PATIENCE_DAYS
        if since >= FIRST_WEEKS and book.ready[number] < 0 and cool and rotten:
            book.ready[number] = day
            book.fetched[number] = day + 1 + int(chance.exponential(LATE_DAYS))


def _fetch(
    lies: Lies,
    nature: Nature,
    book: _Book,
    now: tuple[NDArray[np.int_], int],
    how: tuple[np.random.Generator, _Plan, NDArray[np.bool_]],
) -> None:
    on, _ = now
    chance, plan, which = how
    sieved = lies.volume_m3 * 1000 * nature.swell * (1 - np.minimum(nature.sieve_loss, 0.6))
    bags = (sieved / (nature.bag_fill * BAG_L))[:, 0] * np.exp(BAGS_OFF * chance.standard_normal(len(on)))
    for place in np.flatnonzero(which):
        number = int(on[place])
        counted = max(round(2 * float(bags[place])) / 2, 0.5)
        book.came[number] = Came(counted, _day(plan, number, int(book.ready[number])))


def _word(share: float) -> str:
    return min(LOOKS, key=lambda word: abs(np.log(LOOKS[word] / share)))


def _day(plan: _Plan, number: int, day: int) -> date:
    return FIRST_DAY + timedelta(days=int(plan.begins[number]) + day)


def _written(world: World, plan: _Plan, book: _Book, number: int, coop: int) -> Kept:
    """What of all that stands in the book of the cooperative."""
    habit = float(np.exp(HABIT * world.random(5, coop).standard_normal()))
    chance = world.random(6, number)
    loads = [
        Tipped(_day(plan, number, day), key, round(float(row[place] * habit * np.exp(LITRES * chance.normal())), 1))
        for day, row in book.tipped[number]
        if chance.random() > MISSED
        for place, key in enumerate(KEYS)
        if row[place] >= 1.0
    ]
    kept = Kept(
        coop=f"{world.name} {coop + 1}",
        heap=f"{world.name} {coop + 1}-{number}",
        length_m=round(float(plan.length_m[number]), 2),
        breadth_m=round(float(plan.breadth_m[number]), 2),
        height_m=HIGH_M,
        covered=bool(plan.covered[number, 0]),
        leaf=False,
        bag_l=BAG_L,
        loads=tuple(loads),
        turns=tuple(_day(plan, number, int(day)) for day in plan.turns[number] if day > 0),
        readings=tuple(book.readings[number]),
    )
    return replace(kept, readings=tuple(one for one in kept.readings if one.day >= kept.began))
