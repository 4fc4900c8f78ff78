"""What lies in a bay, as sums: its mix, what is still known of it by hand, and what a phone reckons on with."""

from datetime import datetime, timedelta

from heaps.ledger import Batch, BayState, Stage, stage
from heaps.ledger.heap import Content, Mark
from heaps.science.advice import LEAVES, LEAVES_ALONE, own_kind, still_counts
from heaps.science.blend import PACKING, Mix, Part, blend
from heaps.science.fit import Lying
from heaps.science.living.foresight import Balance
from heaps.science.materials import Materials
from heaps.science.targets import as_felt

#: A leaf bin sinks to half in one to two months (gardeners' logs, from memory), a hot heap faster.
SINKS_AFTER = timedelta(days=14)


def mix_of(content: Content, materials: Materials, water_ml: int = 0) -> Mix:
    """What the loads of a batch add up to, with the water poured on it (a litre is a kilogram)."""
    parts = [
        Part(materials[key.partition("/")[0]], load.wet_g / 1000, load.volume_ml / 1000)
        for key, load in content.items()
    ]
    return blend(parts, water_ml / 1000)


def lies_now(batch: Batch, materials: Materials, still: Balance | None) -> Mix:
    """What lies there now: what is still there by a forecast that knows of all that was recorded, else the recipe."""
    recipe = mix_of(batch.content, materials, batch.water_ml)
    return still.mix(recipe) if still else recipe


def is_leaves(batch: Batch, materials: Materials) -> bool:
    """Leaves nearly alone, by volume, become leaf mould wherever they lie."""
    leaves_ml = sum(
        load.volume_ml for key, load in batch.content.items() if materials[key.partition("/")[0]].ash_class in LEAVES
    )
    return leaves_ml >= LEAVES_ALONE * batch.volume_ml > 0


def fresh(mark: Mark | None, batch: Batch, now: datetime) -> str | None:
    """What a reading says, if it still speaks for the heap."""
    if mark is None or not still_counts(mark.at, now, batch.turned_at):
        return None
    return str(mark.value)


def not_sunk(batch: Batch, now: datetime) -> bool:
    """Whether what was tipped still tells how full the bay is: too young to have sunk or been turned."""
    return not (batch.guessed or batch.turned_at or now - batch.began > SINKS_AFTER)


def feeding_on(state: BayState, materials: Materials, now: datetime) -> Mix | None:
    """The mix that the next load goes into, as felt by the last hand; None where sums of greens and browns say nothing:
    it is past feeding, or no mix of them."""
    batch = state.batch
    if state.closed_at or stage(state, now) not in (Stage.EMPTY, Stage.FILLING):
        return None
    mix = mix_of(batch.content, materials, batch.water_ml) if batch else Mix()
    if batch is None or own_kind(mix):
        return mix if batch is None else None
    return as_felt(mix, fresh(batch.squeeze, batch, now))


def lying(batch: Batch, bay_l: float, still: Balance | None) -> Lying:
    """By the last look since it was fed or turned, else by a forecast with earlier ones, else by what was tipped."""
    seen = batch.fill
    since = max((moment for moment in (batch.fed_at, batch.turned_at) if moment), default=batch.began)
    if seen and seen.at >= since:
        return Lying(bay_l * int(seen.value) / 100)
    if still:
        return Lying(still.read_l, marked=False)
    return Lying(min(batch.volume_ml / PACKING / 1000, bay_l), marked=False)


def room_l(state: BayState, bay_ml: int, now: datetime) -> float | None:
    """Litres that still fit in: by a look since the last load, or by what was tipped; None if neither can tell."""
    batch = state.batch
    if batch is None:
        return bay_ml / 1000
    look = fresh(batch.fill, batch, now)
    if look and batch.fill and (batch.fed_at is None or batch.fed_at <= batch.fill.at):
        return max(0.0, bay_ml / 1000 * (1 - int(look) / 100))
    if batch.fill or not not_sunk(batch, now):
        return None
    return max(0.0, (bay_ml - batch.volume_ml / PACKING) / 1000)
