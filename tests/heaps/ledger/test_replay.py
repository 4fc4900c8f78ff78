"""Replay gives one state for one set of facts, whatever their order; and what moves adds up to the gram."""

import json
import random
from datetime import UTC, datetime, timedelta
from itertools import permutations
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from heaps import ledger, wire
from heaps.ledger import heap
from heaps.ledger.kinds import (
    Close,
    Correction,
    Dropoff,
    Entry,
    Harvest,
    Opening,
    Reading,
    Reopen,
    Share,
    TipOut,
    Turn,
    Verdict,
    Water,
)
from heaps.science.materials import PUBLISHED
from tests import random_ledgers

SITE = "5e000000-0000-4000-8000-000000000001"
BAYS = tuple(f"ba000000-0000-4000-8000-00000000000{place}" for place in range(4))
DAY = timedelta(days=1)
KINDS_OF_LOAD = [
    f"{feedstock}/{basis}" for feedstock in random_ledgers.FEEDSTOCKS for basis in ("weighed", "estimated", "opening")
]
NOON = datetime(2026, 4, 1, 12, tzinfo=UTC)
ORDER_STORED = Path(__file__).parents[2] / "vectors/order_of_kinds.json"


def test_the_order_that_is_stored_is_the_one_of_this_replay() -> None:
    """States and checkpoints hold places in KINDS: after another order, those of before would lie elsewhere."""
    stored = json.loads(ORDER_STORED.read_text())
    says = "the order of KINDS is stored in states and checkpoints: raise ledger.REPLAY, then write both here anew"
    assert stored == {"replay": ledger.REPLAY, "order": list(ledger.KINDS)}, f"{ORDER_STORED.name}: {says}"


def entry(number: int, bay: str | None, day: float, what: Any) -> Entry:
    return Entry(uid=f"e{number:07d}-0000-4000-8000-000000000000", bay=bay, at=NOON + day * DAY, what=what)


def grass(number: int, bay: str, day: float, weighed_g: int = 10_001) -> Entry:
    return entry(number, bay, day, Dropoff("grass-fresh", 2, 40_000, None, weighed_g))


def of_wire(raw: dict[str, Any]) -> Entry:
    read = wire.read(raw, PUBLISHED)
    return Entry(uid=read.uid, bay=read.bay, at=read.occurred_at, what=read.what)


@settings(max_examples=300, deadline=None)
@given(raws=random_ledgers.ledgers(SITE, BAYS), seed=st.integers(0, 2**32))
def test_any_order_and_any_repeats_give_the_same_state(raws: list[dict[str, Any]], seed: int) -> None:
    entries = [of_wire(raw) for raw in raws]
    shuffled = entries + entries[: len(entries) // 2]
    random.Random(seed).shuffle(shuffled)
    assert ledger.replay(shuffled, PUBLISHED) == ledger.replay(entries, PUBLISHED)


@settings(max_examples=300, deadline=None)
@given(raws=random_ledgers.ledgers(SITE, BAYS))
def test_turns_make_and_lose_no_gram(raws: list[dict[str, Any]]) -> None:
    """What came in and did not leave by a harvest or a tip-out lies in the bays, to the gram and the millilitre."""
    entries = [of_wire(raw) for raw in raws if raw["kind"] not in ("harvest", "tip_out")]
    replayed = ledger.replay(entries, PUBLISHED)
    came_in = ledger.Load(0, 0)
    for one in replayed.standing:
        alone = ledger.replay([one], PUBLISHED).bays.get(one.bay or "")
        if isinstance(one.what, Dropoff | Opening) and alone and alone.batch:
            came_in += ledger.Load(alone.batch.wet_g, alone.batch.volume_ml)
    lying = [state.batch for state in replayed.bays.values() if state.batch]
    assert sum(batch.wet_g for batch in lying) == came_in.wet_g
    assert sum(batch.volume_ml for batch in lying) == came_in.volume_ml


def test_what_happens_at_one_moment_has_one_order() -> None:
    """A load comes before the turn of its bay, and of two equal kinds the uid decides."""
    a, b, c, _ = BAYS
    told = [
        grass(1, a, 1),
        entry(2, b, 1, Turn((Share(a, 100),))),
        entry(3, c, 1, Turn((Share(b, 100),))),
        entry(4, c, 1, Verdict("look", "ready")),
        entry(5, c, 1, Verdict("look", "not yet")),
    ]
    states = [ledger.replay(order, PUBLISHED).bays for order in permutations(told)]
    assert all(one == states[0] for one in states)
    assert states[0][c].batch and states[0][c].batch.ready_at is None


def test_water_moves_with_its_share() -> None:
    a, b, *_ = BAYS
    told = [grass(1, a, 0), entry(2, a, 1, Water(10_001)), entry(3, b, 2, Turn((Share(a, 33),)))]
    bays = ledger.replay(told, PUBLISHED).bays
    assert bays[a].batch and bays[b].batch
    assert (bays[a].batch.water_ml, bays[b].batch.water_ml) == (10_001 - 3_300, 3_300)


@settings(max_examples=200, deadline=None)
@given(raws=random_ledgers.ledgers(SITE, BAYS))
def test_a_state_survives_its_journey_through_plain_values(raws: list[dict[str, Any]]) -> None:
    for state in ledger.replay(map(of_wire, raws), PUBLISHED).bays.values():
        assert ledger.from_plain(ledger.to_plain(state)) == state


def test_a_two_bay_turn_adds_up_to_the_gram() -> None:
    a, b, c, _ = BAYS
    before = [grass(1, a, 0, 10_001), grass(2, b, 1, 7_799), grass(3, c, 2, 333)]
    turn = entry(4, c, 3, Turn((Share(a, 100), Share(b, 33))))
    bays = ledger.replay([*before, turn], PUBLISHED).bays
    merged, rest = bays[c].batch, bays[b].batch
    assert bays[a].batch is None
    assert merged and rest
    assert merged.wet_g == 10_001 + 7_799 * 33 // 100 + 333
    assert rest.wet_g == 7_799 - 7_799 * 33 // 100
    assert merged.uid == turn.uid
    assert set(merged.parents) == {one.uid for one in before}
    assert {ancestor.bay for ancestor in merged.ancestors.values()} == {a, b, c}


def test_a_phone_that_was_away_lands_its_entry_on_the_merged_batch() -> None:
    a, b, c, _ = BAYS
    turn = entry(9, c, 10, Turn((Share(a, 100), Share(b, 100))))
    late = grass(3, a, 5, 5_000)
    bays = ledger.replay([grass(1, a, 0), grass(2, b, 0), turn, late], PUBLISHED).bays
    assert bays[a].batch is None
    assert bays[c].batch and bays[c].batch.wet_g == 2 * 10_001 + 5_000


def test_a_turn_of_an_empty_bay_moves_nothing_and_is_remarked_until_it_stands() -> None:
    a, b, *_ = BAYS
    turn = entry(2, b, 1, Turn((Share(a, 100),)))
    state = ledger.replay([turn], PUBLISHED).bays[b]
    assert state.batch is None
    assert [remark.code for remark in state.remarks] == ["turn of an empty bay"]
    settled = entry(3, None, 2, Correction(turn.uid, "stands"))
    assert ledger.replay([turn, settled], PUBLISHED).bays[b].remarks == ()


def test_a_turn_within_its_own_bay_keeps_the_batch() -> None:
    a = BAYS[0]
    first = grass(1, a, 0)
    batch = ledger.replay([first, entry(2, a, 9, Turn((Share(a, 100),)))], PUBLISHED).bays[a].batch
    assert batch and (batch.uid, batch.turns, batch.wet_g) == (first.uid, 1, 10_001)


def test_the_latest_correction_decides_and_keeps_what_was_not_corrected() -> None:
    a = BAYS[0]
    first = grass(1, a, 0, 10_000)
    smaller = entry(
        2, None, 1, Correction(first.uid, "instead", a, None, Dropoff("grass-fresh", 1, 40_000, None, 4_000))
    )
    withdrawn = entry(3, None, 2, Correction(first.uid, "withdraw"))
    batch = ledger.replay([first, smaller], PUBLISHED).bays[a].batch
    assert batch and batch.wet_g == 4_000
    assert ledger.replay([withdrawn, smaller, first], PUBLISHED).bays == {}


def test_standing_keeps_an_earlier_correction_and_ends_with_a_later_one() -> None:
    a, b, *_ = BAYS
    turn = entry(1, b, 0, Turn((Share(a, 100),)))
    other = entry(2, None, 1, Correction(turn.uid, "instead", a, None, Turn((Share(b, 50),))))
    stands = entry(3, None, 2, Correction(turn.uid, "stands"))
    again = entry(4, None, 3, Correction(turn.uid, "instead", b, None, Turn((Share(a, 50),))))

    def remarks(*told: Entry) -> list[str]:
        bays = ledger.replay(told, PUBLISHED).bays
        return [f"{bay} {remark.code}" for bay, state in bays.items() for remark in state.remarks]

    assert remarks(turn, other) == [f"{a} turn of an empty bay"]
    assert remarks(turn, other, stands) == []
    assert ledger.replay([turn, other, stands], PUBLISHED).standing[0].bay == a
    assert remarks(turn, other, stands, again) == [f"{b} turn of an empty bay"]


def test_a_correction_that_came_first_waits() -> None:
    early = entry(2, None, 1, Correction(grass(1, BAYS[0], 0).uid, "withdraw"))
    assert ledger.replay([early], PUBLISHED).waiting == (early,)
    assert ledger.replay([early, grass(1, BAYS[0], 0)], PUBLISHED).waiting == ()


def test_an_entry_cannot_become_another_kind() -> None:
    first = grass(1, BAYS[0], 0)
    strange = entry(2, None, 1, Correction(first.uid, "instead", BAYS[0], None, TipOut()))
    assert ledger.replay([first, strange], PUBLISHED).bays[BAYS[0]].batch is not None


def test_the_merged_heap_is_closed_only_when_all_its_bays_were() -> None:
    a, b, c, _ = BAYS
    turn = entry(9, c, 9, Turn((Share(a, 100), Share(b, 100))))
    loads = [grass(1, a, 0), grass(2, b, 0)]
    one_closed = ledger.replay([*loads, entry(3, a, 1, Close()), turn], PUBLISHED).bays
    both_closed = ledger.replay([*loads, entry(3, a, 1, Close()), entry(4, b, 2, Close()), turn], PUBLISHED).bays
    assert one_closed[c].closed_at is None
    assert both_closed[c].closed_at == NOON + 2 * DAY
    assert both_closed[a].closed_at is None  # an emptied bay may be fed again


def test_a_load_into_a_closed_bay_is_taken_and_remarked() -> None:
    a = BAYS[0]
    state = ledger.replay([grass(1, a, 0), entry(2, a, 1, Close()), grass(3, a, 2)], PUBLISHED).bays[a]
    assert state.batch and state.batch.wet_g == 20_002
    assert [remark.code for remark in state.remarks] == ["into a closed bay"]


def test_stages_follow_the_records() -> None:
    a = BAYS[0]
    told: list[Entry] = [grass(1, a, 0)]

    def stage_on(day: float) -> str:
        return ledger.stage(ledger.replay(told, PUBLISHED).bays[a], NOON + day * DAY)

    assert stage_on(30) == "filling"
    told.append(entry(2, a, 31, Close()))
    assert stage_on(40) == "working"
    told.append(entry(3, a, 45, Turn((Share(a, 100),))))
    told.append(entry(4, a, 80, Reading(temp_tenths_c=300, air_tenths_c=150)))
    assert stage_on(90) == "working"  # still warm
    told.append(entry(5, a, 91, Reading(temp_tenths_c=200, air_tenths_c=150)))
    assert stage_on(92) == "maturing"
    told.append(entry(6, a, 100, Verdict("look", "ready")))
    assert stage_on(101) == "ready"
    told.append(entry(7, a, 110, Reopen()))
    told.append(grass(8, a, 111))
    assert stage_on(112) == "filling"  # fed again: ready no more
    told.append(entry(9, a, 120, Harvest(20, 40_000, 100, "sieved")))
    assert stage_on(121) == "empty"


def test_without_readings_working_lasts_the_published_slow_time() -> None:
    a = BAYS[0]
    state = ledger.replay([grass(1, a, 0), entry(2, a, 1, Close())], PUBLISHED).bays[a]
    assert ledger.stage(state, NOON + 200 * DAY) == "working"
    assert ledger.stage(state, NOON + 1 * DAY + 39 * 7 * DAY) == "maturing"


def test_an_opening_is_in_the_heap_but_never_in_the_totals() -> None:
    opening = entry(1, BAYS[0], 0, Opening(600_000, 90, (("cardboard", 40), ("grass-fresh", 60))))
    batch = ledger.replay([opening], PUBLISHED).bays[BAYS[0]].batch
    assert batch and batch.guessed and batch.volume_ml == 600_000
    assert batch.began == NOON - 90 * DAY
    assert ledger.amount_of(opening, PUBLISHED) is None


def test_what_a_sieve_gives_back_is_not_new_input() -> None:
    returned = entry(1, BAYS[0], 0, Dropoff("screened-oversize", 2, 40_000))
    counted = ledger.amount_of(returned, PUBLISHED)
    assert counted and counted[0].what == "returned"


@settings(max_examples=300, deadline=None)
@given(raws=random_ledgers.ledgers(SITE, BAYS))
def test_layers_are_the_content_again(raws: list[dict[str, Any]]) -> None:
    """A share rounds each layer on its own, so they may differ from the content by some millilitres."""
    splits = sum(len(raw["details"].get("sources", ())) + (raw["kind"] == "harvest") for raw in raws)
    for state in ledger.replay([of_wire(raw) for raw in raws], PUBLISHED).bays.values():
        if state.batch:
            layered_ml = sum(layer.volume_ml for layer in state.batch.layers)
            assert abs(layered_ml - state.batch.volume_ml) <= (splits + 1) * (heap.MOST_LAYERS + len(KINDS_OF_LOAD))
