"""Entries as the living heap's events: what lies in the bays by them is what lies there by replay."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heaps import ledger, wire
from heaps.ledger.kinds import (
    Cover,
    Dropoff,
    Entry,
    Harvest,
    Kind,
    Opening,
    Reading,
    Share,
    TipOut,
    Turn,
    Verdict,
    Water,
)
from heaps.ledger.living import Told, concerning, tell, tell_before
from heaps.science.blend import Part, blend
from heaps.science.living import events
from heaps.science.living.events import happen
from heaps.science.living.parameters import middle
from heaps.science.living.readings import Fill, Warmth
from heaps.science.living.state import Bay, Heaps, empty
from heaps.science.materials import PUBLISHED
from tests import random_ledgers

SITE = "5e000000-0000-4000-8000-000000000001"
BAYS = tuple(f"ba000000-0000-4000-8000-00000000000{place}" for place in range(4))
A, B, C, _ = BAYS
NOON = datetime(2027, 4, 1, 12, tzinfo=UTC)


def day_of(at: datetime) -> date:
    return at.date()


def entries(*happened: tuple[int, str, Kind]) -> list[Entry]:
    return [
        Entry(f"e0000000-0000-4000-8000-{number:012}", bay, NOON + timedelta(days=day), what)
        for number, (day, bay, what) in enumerate(happened)
    ]


def load(feedstock: str = "grass-fresh", litres: int = 200, weighed_g: int | None = None) -> Dropoff:
    return Dropoff(feedstock, 2, litres * 1000, None, weighed_g)


def told(*happened: tuple[int, str, Kind]) -> Told:
    found = tell(ledger.replay(entries(*happened), PUBLISHED).standing, BAYS, PUBLISHED, day_of)
    assert found is not None
    return found


def lying(found: Told) -> Heaps:
    """All events, with no day lived between them."""
    heaps = empty([Bay(1.1, 1.1)] * len(BAYS), 1, 10)
    for event in found.events:
        happen(heaps, middle(), event, 10.0)
    return heaps


@settings(max_examples=60, deadline=None)
@given(raws=random_ledgers.ledgers(SITE, BAYS))
def test_the_same_lies_there_as_by_replay(raws: list[dict[str, Any]]) -> None:
    read = [wire.read(raw, PUBLISHED) for raw in raws]
    replayed = ledger.replay([Entry(one.uid, one.bay, one.occurred_at, one.what) for one in read], PUBLISHED)
    found = tell(replayed.standing, BAYS, PUBLISHED, day_of)
    there = {bay: state.batch for bay, state in replayed.bays.items() if state.batch}
    if found is None:
        assert not there
        return
    assert {bay for bay, row in found.rows.items() if row in found.records} == set(there)
    heaps = lying(found)
    for bay, batch in there.items():
        row = found.rows[bay]
        assert found.records[row].tipped_l == pytest.approx(batch.volume_ml / 1000, abs=0.1)
        parts = [
            Part(PUBLISHED[key.partition("/")[0]], one.wet_g / 1000, one.volume_ml / 1000)
            for key, one in batch.content.items()
        ]
        if not batch.guessed:
            assert heaps.dry_kg[row, 0] == pytest.approx(blend(parts).dry_kg, abs=0.05, rel=1e-3)
    assert all(event.day >= 0 for event in found.events)


@settings(max_examples=30, deadline=None)
@given(raws=random_ledgers.ledgers(SITE, BAYS), chance=st.randoms(use_true_random=False))
def test_entries_that_arrive_late_and_twice_tell_the_same(raws: list[dict[str, Any]], chance: Any) -> None:
    read = [wire.read(raw, PUBLISHED) for raw in raws]
    in_time = [Entry(one.uid, one.bay, one.occurred_at, one.what) for one in read]
    late = [*in_time, *in_time[:3]]
    chance.shuffle(late)
    first, second = (tell(ledger.replay(each, PUBLISHED).standing, BAYS, PUBLISHED, day_of) for each in (in_time, late))
    assert first == second


def test_a_move_takes_its_history_along_and_what_ended_before_is_left_out() -> None:
    found = told(
        (0, C, load()), (5, C, TipOut()),  # long gone
        (10, A, load()), (20, A, load("cardboard")), (40, B, Turn((Share(A, 100),))), (50, B, Turn((Share(B, 100),))),
    )  # fmt: skip
    assert found.begins == date(2027, 4, 11)
    assert [(type(one).__name__, one.day) for one in found.events] == [
        ("Deposit", 0), ("Deposit", 10), ("Move", 30), ("Turn", 40),
    ]  # fmt: skip
    assert set(found.records) == {1} and found.records[1].tipped_l == 400


def test_a_share_stays_and_two_bays_come_together() -> None:
    found = told((0, A, load()), (0, B, load()), (9, C, Turn((Share(A, 50), Share(B, 100)))))
    heaps = lying(found)
    assert heaps.dry_kg[2, 0] == pytest.approx(3 * heaps.dry_kg[0, 0])
    assert [record.tipped_l for _, record in sorted(found.records.items())] == [100, 300]


def test_a_scale_is_believed_and_an_opening_is_guessed() -> None:
    found = told((0, A, load(weighed_g=60_000)), (1, B, Opening(500_000, 90, (("leaves-mixed", 100),))))
    deposit, opening = found.events
    assert isinstance(deposit, events.Deposit) and deposit.weighed and deposit.part.wet_kg == 60
    assert isinstance(opening, events.Opening) and opening.age_days == 90 and opening.parts[0].volume_l == 500


def test_readings_belong_to_the_heap_that_lies_there() -> None:
    cold = Reading(temp_tenths_c=200, place="core", air_tenths_c=90, probe="long", fill_per_cent=80)
    found = told(
        (0, A, load()), (3, A, cold), (4, A, Harvest(4, 45_000, 100, "sieved")),
        (6, A, load()), (7, A, Reading(temp_tenths_c=415)), (8, A, Reading(temp_tenths_c=300, place="edge")),
        (9, A, Reading(fill_per_cent=60)), (10, A, Verdict("look", "not yet")),
    )  # fmt: skip
    record = found.records[0]
    assert record.warmths == (Warmth(1, 41.5, None, ""),)
    assert record.fills == (Fill(3, 0.6),)
    assert record.not_ready == 4


def test_taking_half_forgets_the_mark_on_the_wall_and_a_load_forgets_not_yet() -> None:
    marked = ((0, A, load()), (1, A, Reading(fill_per_cent=60)), (2, A, Verdict("look", "not yet")))
    half = told(*marked, (3, A, Harvest(2, 45_000, 50, "coarse"))).records[0]
    assert half.fills == () and half.tipped_l == 100 and half.not_ready == 2
    assert told(*marked, (3, A, load())).records[0].not_ready is None


def test_water_counts_only_where_something_lies_and_covers_always() -> None:
    found = told((0, A, load()), (1, A, Water(9_000)), (1, B, Water(9_000)), (2, A, Cover("off")))
    assert [one for one in found.events if isinstance(one, events.Watering)] == [events.Watering(1, 0, 9.0)]
    assert events.Covering(2, 0, False) in found.events


def test_nothing_anywhere_is_nothing_to_tell() -> None:
    gone = ledger.replay(entries((0, A, load()), (1, A, TipOut())), PUBLISHED)
    assert tell(gone.standing, BAYS, PUBLISHED, day_of) is None
    assert np.isfinite(lying(told((0, A, load()))).dry_kg).all()


@settings(max_examples=40, deadline=None)
@given(raws=random_ledgers.ledgers(SITE, BAYS))
def test_of_one_heap_alone_the_same_lies_there_as_of_all(raws: list[dict[str, Any]]) -> None:
    read = [wire.read(raw, PUBLISHED) for raw in raws]
    standing = ledger.replay([Entry(one.uid, one.bay, one.occurred_at, one.what) for one in read], PUBLISHED).standing
    found = tell(standing, BAYS, PUBLISHED, day_of)
    for bay, row in found.rows.items() if found else ():
        if not found or row not in found.records:
            continue
        alone = concerning(found, [bay])
        (own,) = alone.records
        assert alone.rows[bay] == own and set(alone.rows) <= set(BAYS)
        assert min(event.day for event in alone.events) >= 0 == alone.began[own]
        assert alone.records[own].tipped_l == found.records[row].tipped_l
        mine, all_of_them = lying(alone), lying(found)
        for name in ("dry_kg", "water_kg", "nitrogen_kg"):
            assert getattr(mine, name)[own, 0] == pytest.approx(getattr(all_of_them, name)[row, 0], rel=1e-9, abs=1e-9)


def test_of_one_heap_alone_nothing_is_told_but_what_it_is_made_of() -> None:
    found = told(
        (0, A, load()), (1, B, load("hay")), (5, C, load("cardboard")),
        (9, C, Harvest(4, 40_000, 100, "sieved")), (10, C, load("hay")),
        (20, C, Turn((Share(A, 100),))), (25, A, load("hay")), (30, C, Reading(temp_tenths_c=600)),
    )  # fmt: skip
    alone = concerning(found, [C])
    assert [(type(one).__name__, one.day) for one in alone.events] == [("Deposit", 0), ("Deposit", 10), ("Move", 20)]
    assert set(alone.rows) == {A, C} and alone.records[alone.rows[C]].warmths == (Warmth(30, 60.0),)
    left = concerning(found, [A])
    assert [(type(one).__name__, one.day) for one in left.events] == [("Deposit", 0)] and left.begins.day == 26


def test_a_look_in_words_counts_some_two_months_after_the_last_load() -> None:
    for day, look in ((10, None), (60, "half"), (200, None)):
        found = told((0, A, load()), (day, A, Verdict("look", "not yet", "bitty")))
        assert found.records[0].look == look


def test_at_an_earlier_moment_only_what_was_recorded_by_then_is_told() -> None:
    happened = entries((0, A, load()), (10, A, load("hay")), (20, A, TipOut()))
    moments = [NOON + timedelta(days=day) for day in (0, 5, 15, 25)]
    found = tell_before(moments, happened, BAYS, PUBLISHED, day_of)
    assert [one and len(one.events) for one in found] == [None, 1, 2, None]
