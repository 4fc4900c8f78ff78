"""What is kept beside the ledger is what a replay of it gives, after every sending and in any order."""

import random
import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from heaps import history, ledger
from heaps.history import bays as kept_bays
from heaps.history import rows
from heaps.models import (
    Attendance,
    Bay,
    Checkpoint,
    DayTotal,
    Entry,
    Ledger,
    Question,
    Site,
    StoredBay,
    known_materials,
)
from heaps.sync import Receipt, Sending, accept, link
from members.models import Member
from tests import random_ledgers
from tests.recount import recounted

pytestmark = pytest.mark.ledger

SITE = "5e000000-0000-4000-8000-000000000001"
BAYS = tuple(f"ba000000-0000-4000-8000-00000000000{place}" for place in range(4))
GRASS = {"feedstock": "grass-fresh", "half_containers": 2, "container_ml": 40_000}
NOW = datetime(2026, 11, 1, 12, tzinfo=UTC)


def ground() -> Site:
    """One site on UTC with four bays in a row."""
    site = Site.objects.create(uid=SITE, name="Test ground", time_zone="UTC")
    for place, uid in enumerate(BAYS):
        Bay.objects.create(
            uid=uid, site=site, name=f"Bay {place}", position=place, length_cm=100, width_cm=100, height_cm=100
        )
    return site


def people() -> list[Member]:
    """Two coordinators, so that anyone may correct anything."""
    return [Member.objects.create(username=name, name=name, is_coordinator=True) for name in ("ada", "bo")]


def take(raws: list[dict[str, Any]], person: Member, minutes: int = 0) -> list[Receipt]:
    now = NOW + timedelta(minutes=minutes)
    return accept(raws, Sending(person=person, device=uuid.UUID(int=person.pk), sent_at=now, received_at=now))


def kept() -> dict[str, Any]:
    """Everything that stands beside the ledger."""
    return {
        "bays": {str(one.bay.uid): one.state for one in StoredBay.objects.select_related("bay")},
        "totals": totals(),
        "attendance": sorted(Attendance.objects.values_list("month", "entries")),
    }


def totals() -> dict[tuple[Any, ...], tuple[int, ...]]:
    return {
        (str(one.bay.uid) if one.bay else None, one.day, one.what, one.detail, one.basis): (
            one.entries,
            one.wet_g,
            one.volume_ml,
            one.half_bags,
            one.minutes,
            one.people,
            one.tenths_m2,
        )
        for one in DayTotal.objects.select_related("bay")
    }


def replayed() -> dict[str, Any]:
    rows = Entry.objects.select_related("bay")
    bays = ledger.replay(map(history.entry_of, rows), known_materials()).bays
    return {uid: ledger.to_plain(state) for uid, state in bays.items()}


class RandomLedgers(TestCase):
    @settings(max_examples=60, deadline=None)
    @given(
        raws=random_ledgers.ledgers(SITE, BAYS),
        seed=st.integers(0, 2**32),
        sizes=st.lists(st.integers(1, 7), min_size=1, max_size=30),
    )
    def test_states_and_totals_equal_a_recount_after_every_step(
        self, raws: list[dict[str, Any]], seed: int, sizes: list[int]
    ) -> None:
        site, (ada, bo) = ground(), people()
        waiting = raws + raws[::3]  # a third comes twice
        random.Random(seed).shuffle(waiting)
        step = 0
        while waiting:
            size = sizes[step % len(sizes)]
            batch, waiting = waiting[:size], waiting[size:]
            receipts = take(batch, ada if step % 2 else bo, step)
            assert {receipt.state for receipt in receipts} <= {"accepted", "known"}, receipts
            assert kept()["bays"] == replayed()
            assert totals() == recounted()
            step += 1
        assert Entry.objects.count() == len(raws)
        assert history.drift(site) == []
        before = kept()
        history.rebuild(site)
        assert kept() == before

    @settings(max_examples=40, deadline=None)
    @given(raws=random_ledgers.ledgers(SITE, BAYS), seed=st.integers(0, 2**32))
    def test_any_split_into_sendings_gives_the_same_state(self, raws: list[dict[str, Any]], seed: int) -> None:
        site, (ada, _) = ground(), people()
        take(raws, ada)
        at_once = kept()
        Question.objects.all().delete()
        Entry.objects.all().delete()
        Attendance.objects.all().delete()
        history.rebuild(site)
        assert kept() == {"bays": {}, "totals": {}, "attendance": []}
        shuffled = list(raws)
        random.Random(seed).shuffle(shuffled)
        for raw in shuffled:
            take([raw], ada)
        assert kept() == at_once


@pytest.mark.django_db
def test_a_late_entry_replays_only_the_bays_it_reaches(monkeypatch: pytest.MonkeyPatch) -> None:
    ground()
    ada, _ = people()

    def load(day: int, bay: str) -> dict[str, Any]:
        return raw_entry("dropoff", bay, day, GRASS)

    turn = raw_entry("turn", BAYS[1], 50, {"sources": [{"bay": BAYS[0], "per_cent": 100}]})
    take([load(day, bay) for day in range(0, 90, 3) for bay in BAYS] + [turn], ada)
    passed: list[ledger.Entry] = []
    past = kept_bays.Walk.past

    def watched(self: kept_bays.Walk, entry: ledger.Entry) -> None:
        passed.append(entry)
        past(self, entry)

    monkeypatch.setattr(kept_bays.Walk, "past", watched)
    take([load(40, BAYS[0])], ada, 5)
    assert {bay for entry in passed for bay in entry.bays} == {BAYS[0], BAYS[1]}
    assert min(entry.at for entry in passed) >= random_ledgers.START + timedelta(days=20)
    assert kept()["bays"] == replayed()


@pytest.mark.django_db
@pytest.mark.parametrize("corrected", [True, False], ids=["old corrections", "a new bay"])
def test_a_late_entry_reads_little_from_before_its_checkpoint(monkeypatch: pytest.MonkeyPatch, corrected: bool) -> None:
    """Neither old corrections nor a bay that has no checkpoint yet make a late entry or an undoing dearer."""
    ground()
    ada, _ = people()
    for day in range(60):
        then = random_ledgers.START + timedelta(days=day, hours=1)
        load = raw_entry("dropoff", BAYS[0], day, GRASS)
        instead = {"corrects": load["uid"], "says": "instead", "kind": "dropoff", "bay": BAYS[0], "details": GRASS}
        raws = [load, raw_entry("correction", None, day, instead)] if corrected else [load]
        accept(raws, Sending(ada, None, sent_at=then, received_at=then))
    turn = raw_entry("turn", BAYS[1], 61, {"sources": [{"bay": BAYS[0], "per_cent": 50}]})
    other = BAYS[1] if corrected else BAYS[2]
    take([turn, raw_entry("dropoff", other, 70, GRASS), raw_entry("dropoff", BAYS[0], 80, GRASS)], ada)
    into = raw_entry("turn", BAYS[0], 90, {"sources": [{"bay": other, "per_cent": 100}]})
    take([into], ada, 1)
    read: set[uuid.UUID] = set()
    entry = rows._entry

    def watched(uid: uuid.UUID, *said: Any) -> ledger.Entry:
        read.add(uid)
        return entry(uid, *said)

    monkeypatch.setattr(rows, "_entry", watched)
    take([raw_entry("dropoff", BAYS[0], 75, GRASS)], ada, 2)
    take([raw_entry("correction", None, 91, {"corrects": into["uid"], "says": "withdraw"})], ada, 3)
    assert 0 < len(read) <= 6
    assert kept()["bays"] == replayed()


@pytest.mark.django_db
def test_what_a_correction_moved_past_a_checkpoint_is_replayed_from_there() -> None:
    ground()
    ada, _ = people()
    early, turn = raw_entry("dropoff", BAYS[0], 10, GRASS), {"sources": [{"bay": BAYS[0], "per_cent": 100}]}
    take([early, raw_entry("dropoff", BAYS[0], 20, GRASS), raw_entry("turn", BAYS[0], 40, turn)], ada)
    then = (random_ledgers.START + timedelta(days=50)).isoformat()
    said = {"corrects": early["uid"], "says": "instead", "kind": "dropoff", "bay": BAYS[0], "details": GRASS}
    (receipt,) = take([raw_entry("correction", None, 60, said | {"occurred_at": then})], ada, 1)
    assert receipt.state == "accepted", receipt
    take([raw_entry("dropoff", BAYS[0], 45, GRASS)], ada, 2)
    assert kept()["bays"] == replayed()


@pytest.mark.django_db
def test_a_correction_to_a_day_ahead_counts_from_its_arrival() -> None:
    """Also where it is read again for a late entry: a heap is not fed in years to come."""
    site, (ada, _) = ground(), people()
    load = raw_entry("dropoff", BAYS[0], 10, GRASS)
    ahead = (NOW + timedelta(days=400)).isoformat()
    said = {"corrects": load["uid"], "says": "instead", "kind": "dropoff", "bay": BAYS[0], "details": GRASS}
    take([load, raw_entry("correction", None, 11, said | {"occurred_at": ahead})], ada)
    take([raw_entry("dropoff", BAYS[0], 5, GRASS)], ada, 1)
    assert kept()["bays"][BAYS[0]]["upto"][0] == NOW.isoformat()
    assert history.drift(site) == []


@pytest.mark.django_db
def test_each_month_leaves_its_checkpoint() -> None:
    """Loads of one letter are tipped in together, but those of one month before those of the next."""
    ground()
    ada, _ = people()
    take([raw_entry("dropoff", BAYS[0], day, GRASS) for day in (1, 2, 40, 41, 75)], ada)
    points = list(Checkpoint.objects.order_by("at").values_list("state", flat=True))
    assert [point["batch"]["content"]["grass-fresh/estimated"]["volume_ml"] for point in points] == [80_000, 160_000]
    assert kept()["bays"] == replayed()


@pytest.mark.django_db
def test_a_turn_takes_what_one_letter_tipped_before_it() -> None:
    ground()
    ada, _ = people()
    turn = raw_entry("turn", BAYS[1], 3, {"sources": [{"bay": BAYS[0], "per_cent": 50}]})
    loads = [raw_entry("dropoff", bay, day, GRASS) for day in (1, 2, 4) for bay in BAYS[:2]]
    take([*loads, turn], ada)
    assert kept()["bays"] == replayed()
    take([raw_entry("dropoff", BAYS[0], 2, GRASS)], ada, 1)  # late, so that what was last is tipped in again
    assert kept()["bays"] == replayed()


@pytest.mark.django_db
def test_no_checkpoint_outlives_what_a_late_entry_changed() -> None:
    ground()
    ada, _ = people()
    within = {"sources": [{"bay": BAYS[0], "per_cent": 100}]}
    take([raw_entry("dropoff", BAYS[0], day, GRASS) for day in (1, 5, 70)], ada)
    take([raw_entry("turn", BAYS[0], day, within) for day in (10, 20, 80)], ada, 1)
    for day in (15, 3, 75, 12, 85):  # each goes back to before, between and after the turns known by then
        take([raw_entry("dropoff", BAYS[0], day, GRASS)], ada, 2)
        assert kept()["bays"] == replayed()
    points = list(Checkpoint.objects.values_list("bay", "at", "place", "uid"))
    assert len(points) == len(set(points))


@pytest.mark.django_db
def test_drift_and_rebuild_find_and_mend_a_wrong_total() -> None:
    site, (ada, _) = ground(), people()
    take([raw_entry("dropoff", BAYS[0], 1, GRASS)], ada)
    DayTotal.objects.update(wet_g=1)
    StoredBay.objects.update(state={"batch": None, "closed_at": None, "upto": None, "remarks": []})
    assert len(history.drift(site)) == 2
    history.rebuild(site)
    assert history.drift(site) == []


@pytest.mark.django_db
def test_the_chain_covers_every_entry_and_no_name() -> None:
    ground()
    ada, _ = people()
    take([raw_entry("dropoff", BAYS[0], day, GRASS) for day in range(5)], ada)
    Entry.objects.update(person=None, device=None, words="")
    chain = "0" * 64
    for row in Entry.objects.order_by("pk"):
        chain = link(chain, row)
        assert row.chain == chain
    head = Ledger.objects.get()
    assert (head.chain, head.entries) == (chain, 5)


def raw_entry(kind: str, bay: str | None, day: float, details: dict[str, Any]) -> dict[str, Any]:
    return {
        "wire": 1,
        "uid": str(uuid.uuid4()),
        "kind": kind,
        "site": SITE,
        "bay": bay,
        "occurred_at": (random_ledgers.START + timedelta(days=day)).isoformat(),
        "by_hand": True,
        "details": details,
    }
