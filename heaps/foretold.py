"""What is kept of forecasts, to be shown: read from beside the bay's state, never reckoned for a page."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date, timedelta
from typing import Any, NamedTuple

from heaps.ledger import Batch
from heaps.models import KeptForecast
from heaps.science.living.foresight import (
    Balance,
    Band,
    Doubt,
    Forecast,
    Measure,
    Month,
    Months,
    Range,
    WhatIf,
    When,
    Worth,
)
from heaps.science.living.readings import Why

#: Curves are kept from week to week: a heap changes no faster than an eye on a small chart can tell.
STEP_DAYS = 7
#: Raised by whoever changes what is kept: what an earlier release kept is then not shown, and made anew.
SHAPE = 2
BALANCE = {one.name for one in fields(Balance)}
FORTNIGHT_DAYS = 14


@dataclass(frozen=True)
class Curve:
    """A range for each seventh day from the first."""

    first: date
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]

    def on(self, day: date) -> Range | None:
        """The range of a day; None before the first and after the last."""
        place, rest = divmod((day - self.first).days, STEP_DAYS)
        if not 0 <= place < len(self.middle) - 1:
            return None
        share = rest / STEP_DAYS
        return Range(*(of[place] * (1 - share) + of[place + 1] * share for of in (self.low, self.middle, self.high)))


@dataclass(frozen=True)
class SetAside:
    """A reading that was not believed, in Celsius or as a share of the bay; a silence has no value."""

    day: date
    why: Why
    value: float | None


@dataclass(frozen=True)
class Foretold:
    """The forecast of one heap as it is kept. `stale`: something was recorded since that it does not know of."""

    made_on: date
    stale: bool
    closed_on: date
    heats: bool
    bags: Range
    bag_litres: int
    ready: Months
    balance: Balance
    temperature: Curve
    fill: Curve
    why_wide: tuple[Doubt, ...]
    set_aside: tuple[SetAside, ...]
    what_if: Mapping[When, WhatIf]
    worth: tuple[Worth, ...]

    @property
    def still(self) -> Balance | None:
        """What is still there; None where something was recorded that this does not know of."""
        return None if self.stale else self.balance

    @property
    def fill_in_a_fortnight(self) -> Range | None:
        """How full the bay will be then, as shares of it, if nothing more is tipped."""
        return self.fill.on(self.made_on + timedelta(days=FORTNIGHT_DAYS))


def foretold_of(bay_id: int, batch: Batch | None) -> Foretold | None:
    """The forecast that is kept of the heap that lies in a bay; None of an empty one, and until one was made."""
    return foretold({bay_id: batch}).get(bay_id)


def foretold(batches: Mapping[int, Batch | None]) -> dict[int, Foretold]:
    """By bay, of the heaps that lie there now. One question to the database, however many there are."""
    kept = KeptForecast.objects.filter(bay__in=batches).values_list(
        "bay_id", "batch", "made_on", "carried", "bay__stored__carried", "says"
    )
    return {
        bay_id: from_plain(says, made_on, carried != now)
        for bay_id, uid, made_on, carried, now, says in kept
        if (batch := batches[bay_id]) and batch.uid == uid and says.get("shape") == SHAPE
    }


class Beside(NamedTuple):
    """What stands beside a bay's state: how often it was carried on, and of its forecast the heap, the number at which
    it was made, and what it says is still there."""

    carried: int | None
    batch: str | None
    made_at: int | None
    balance_json: str | None

    def still(self, batch: Batch | None) -> Balance | None:
        """What is still there, by a forecast of this heap that knows of all that was recorded."""
        if not (self.balance_json and batch and batch.uid == self.batch and self.made_at == self.carried):
            return None
        return balance_of(self.balance_json)


def behind(batch: Batch, still: Balance | None, was_foretold: bool) -> bool:
    """Whether the next forecast will know better what lies there: something was recorded since the last, or it was
    turned and is another heap than that of the last."""
    return still is None and (was_foretold or bool(batch.parents))


def balance_of(plain_json: str) -> Balance | None:
    """What is still there, from the text of its JSON; None of another shape."""
    plain = json.loads(plain_json)
    return Balance(**plain) if plain.keys() == BALANCE else None


def to_plain(said: Forecast, begins: date, bag_litres: int) -> dict[str, Any]:
    """A forecast whose days count from `begins`, as JSON."""
    return {
        "shape": SHAPE,
        "closed_on": (begins + timedelta(days=said.closed)).isoformat(),
        "heats": said.heats,
        "bags": asdict(said.bags),
        "bag_litres": bag_litres,
        "ready": asdict(said.ready),
        "balance": asdict(said.balance),
        "temperature": _curve(said.temperature, begins, 1),
        "fill": _curve(said.fill, begins, 3),
        "why_wide": [one.name for one in said.why_wide],
        "set_aside": [
            [(begins + timedelta(days=one.day)).isoformat(), one.why.name, one.value] for one in said.set_aside
        ],
        "what_if": [[one.when.name, one.weeks_sooner, one.bags] for one in said.what_if.values()],
        "worth": [[one.measure.name, one.of_bags, one.of_date] for one in said.worth],
    }


def from_plain(plain: Mapping[str, Any], made_on: date, stale: bool) -> Foretold:
    """The way back."""
    first, last = plain["ready"]["first"], plain["ready"]["last"]
    return Foretold(
        made_on=made_on,
        stale=stale,
        closed_on=date.fromisoformat(plain["closed_on"]),
        heats=plain["heats"],
        bags=Range(**plain["bags"]),
        bag_litres=plain["bag_litres"],
        ready=Months(Month(**first), Month(**last) if last else None),
        balance=Balance(**plain["balance"]),
        temperature=_read_curve(plain["temperature"]),
        fill=_read_curve(plain["fill"]),
        why_wide=tuple(Doubt[name] for name in plain["why_wide"]),
        set_aside=tuple(SetAside(date.fromisoformat(day), Why[why], value) for day, why, value in plain["set_aside"]),
        what_if={When[when]: WhatIf(When[when], weeks, bags) for when, weeks, bags in plain["what_if"]},
        worth=tuple(Worth(Measure[measure], of_bags, of_date) for measure, of_bags, of_date in plain["worth"]),
    )


def _curve(band: Band, begins: date, digits: int) -> dict[str, Any]:
    def some(values: Iterable[float]) -> list[float]:
        return [round(value, digits) for value in tuple(values)[::STEP_DAYS]]

    first = (begins + timedelta(days=band.first_day)).isoformat()
    return {"first": first, "low": some(band.low), "middle": some(band.middle), "high": some(band.high)}


def _read_curve(plain: Mapping[str, Any]) -> Curve:
    return Curve(date.fromisoformat(plain["first"]), *(tuple(plain[name]) for name in ("low", "middle", "high")))
