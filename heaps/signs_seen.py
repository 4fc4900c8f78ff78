"""What is seen on a heap: what it likely comes from here, what to do, and which signs to look at again."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from heaps import history, ledger
from heaps.ledger.kinds import Cover, Reading
from heaps.ledger.stages import Stage, stage
from heaps.lineage import entries_of
from heaps.look_again import LookAgain, look_again
from heaps.models import Bay, known_materials
from heaps.science.blend import PACKING, Mix
from heaps.science.diagnosis import Diagnosis, Seen, diagnosis
from heaps.science.signs import SIGNS, Do
from heaps.sums import fresh, mix_of, not_sunk

#: What a deed is in the ledger's other kinds, too: a tap keeps both. What needs an amount is recorded as a load or as
#: water, because nobody can tell it from a tap.
ALSO: Mapping[Do, str] = {
    Do.TURN_COARSE: "turn",
    Do.TURN_AND_WATER: "turn",
    Do.OUTSIDE_IN: "turn",
    Do.DISTURB: "turn",
    Do.COVER: "cover",
}
#: What brings stuff or water in: how much is asked on the recording page.
WITH_AMOUNT = frozenset({Do.MIX_BROWNS, Do.CAP, Do.TURN_COARSE, Do.BASE, Do.GREENS, Do.TURN_AND_WATER, Do.DAMP_FIRST})


@dataclass(frozen=True)
class Signs:
    """What a heap's page of signs tells: what every sign would come from here, and which wait for a look."""

    diagnoses: dict[str, Diagnosis]
    again: tuple[LookAgain, ...]
    is_empty: bool


def signs_of(bay: Bay, now: datetime) -> Signs:
    """The signs of what lies in `bay`. `bay.site` must have been fetched."""
    state = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState())
    seen = _seen(bay, state, now)
    return Signs(
        {key: diagnosis(key, seen) for key in SIGNS},
        look_again(state.batch, bay.site.day_of, now),
        state.batch is None,
    )


def entries_for(key: str, bay: Bay, says: str, did: Do | None = None) -> list[dict[str, object]]:
    """What one tap keeps, as a phone builds entries from it."""
    kept: list[dict[str, object]] = [
        {"kind": "sign", "details": {"sign": key, "says": says, **({"did": str(did)} if did else {})}}
    ]
    if did and (also := ALSO.get(did)):
        whole = {"sources": [{"bay": str(bay.uid), "per_cent": 100}]}
        kept.insert(0, {"kind": also, "details": whole if also == "turn" else {"way": "on"}})
    return kept


def _seen(bay: Bay, state: ledger.BayState, now: datetime) -> Seen:
    """What is known of the heap; of an empty bay nothing."""
    batch = state.batch
    if batch is None:
        return Seen(month=bay.site.day_of(now).month)
    entries = entries_of(bay.site_id, batch)
    return Seen(
        mix=_mix(batch),
        materials=frozenset(key.partition("/")[0] for key in batch.content),
        squeeze=fresh(batch.squeeze, batch, now),
        volume_l=_volume_l(bay, batch, now),
        days_since_turn=(now - (batch.turned_at or batch.began)).days,
        days_since_load=(now - batch.fed_at).days if batch.fed_at else None,
        month=bay.site.day_of(now).month,
        covered=_covered(bay, entries),
        hottest_c=_hottest_c(entries),
        ready=stage(state, now) == Stage.READY,
    )


def _mix(batch: ledger.Batch) -> Mix:
    return mix_of(batch.content, known_materials(), batch.water_ml)


def _volume_l(bay: Bay, batch: ledger.Batch, now: datetime) -> float | None:
    """Litres by the last look, or by what was tipped while it is young; None if neither can tell."""
    if batch.fill:
        return bay.volume_ml / 1000 * int(batch.fill.value) / 100
    return batch.volume_ml / PACKING / 1000 if not_sunk(batch, now) else None


def _covered(bay: Bay, entries: Iterable[ledger.Entry]) -> bool | None:
    """By the last entry about a lid or sheet; without one a closed bin has its lid, and of a bay nobody knows."""
    ways = [entry.what.way for entry in entries if isinstance(entry.what, Cover)]
    if ways:
        return ways[-1] == "on"
    return True if bay.kind == Bay.Kind.LIDDED else None


def _hottest_c(entries: Iterable[ledger.Entry]) -> float | None:
    found = [one.what.temp_tenths_c for one in entries if isinstance(one.what, Reading)]
    return max((tenths / 10 for tenths in found if tenths is not None), default=None)
