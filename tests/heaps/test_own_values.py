"""Another density for a material: what is kept beside the ledger follows to the gram, and comes back with it."""

import json
import random
import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from heaps import history, ledger, own_values, sync
from heaps.ledger.amounts import RETURNED
from heaps.ledger.kinds import Dropoff
from heaps.models import Checkpoint, DayTotal, Entry, Ledger, OwnValue, Question, Site, known_materials
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.materials import PUBLISHED
from members.models import Member
from tests import random_ledgers
from tests.heaps.test_history import BAYS, NOW, SITE, ground, kept, people, raw_entry, replayed, take, totals
from tests.recount import recounted

pytestmark = pytest.mark.ledger
DAYS = st.integers(-3, 125).map(lambda days: (random_ledgers.START + timedelta(days=days)).date())
DECISIONS = st.tuples(st.sampled_from(random_ledgers.FEEDSTOCKS), st.none() | st.integers(5, 1_500), st.none() | DAYS)
Told = tuple[str, int | None, date | None]


def decide(feedstock: str, number: int | None, day: date | None = None) -> own_values.Outlook:
    """What a coordinator decides after having seen what it does."""
    value = OwnValue(
        feedstock=feedstock,
        figure="density",
        number=number,
        since=own_values.start_of(day) if day else None,
        decided_at=NOW,
    )
    look = own_values.outlook(value)
    assert own_values.keep([value], look.seal) is None
    return look


def grams_by_hand(decisions: list[Told]) -> dict[tuple[date, str], int]:
    """What was estimated by day and material, reckoned without the table of decisions. Sites are on UTC."""
    found: dict[tuple[date, str], int] = {}
    for entry in ledger.effective(map(history.entry_of, Entry.objects.select_related("bay"))):
        if isinstance(what := entry.what, Dropoff) and what.weighed_g is None:
            density = FEEDSTOCKS[what.feedstock].density_kg_m3 or 0
            for feedstock, number, day in decisions:
                begins = datetime.combine(day, time(), UTC) if day else entry.at
                if feedstock == what.feedstock and begins <= entry.at:
                    density = number or FEEDSTOCKS[feedstock].density_kg_m3 or 0
            volume_ml = what.half_containers * what.container_ml // 2
            key = (entry.at.date(), what.feedstock)
            found[key] = found.get(key, 0) + (volume_ml * density + 500) // 1000
    return found


def grams_kept() -> dict[tuple[date, str], int]:
    found: dict[tuple[date, str], int] = {}
    for row in DayTotal.objects.filter(basis="estimated"):
        found[row.day, row.detail] = found.get((row.day, row.detail), 0) + row.wet_g
    return found


class RandomDecisions(TestCase):
    @settings(max_examples=40, deadline=None)
    @given(
        raws=random_ledgers.ledgers(SITE, BAYS),
        decisions=st.lists(DECISIONS, min_size=1, max_size=4),
        seed=st.integers(0, 2**32),
    )
    def test_decisions_among_sendings_equal_a_full_replay_and_come_back_byte_for_byte(
        self, raws: list[dict[str, Any]], decisions: list[Told], seed: int
    ) -> None:
        site, (ada, _bo) = ground(), people()
        waiting = list(raws)
        chance = random.Random(seed)
        chance.shuffle(waiting)
        done: list[Told] = []
        for one in decisions:
            size = chance.randint(0, len(waiting))
            take(waiting[:size], ada)
            waiting = waiting[size:]
            decide(*one)
            done.append(one)
            assert kept()["bays"] == replayed()
            assert history.drift(site) == []
            assert grams_kept() == grams_by_hand(done)
        take(waiting, ada)
        assert kept()["bays"] == replayed()
        for feedstock in random_ledgers.FEEDSTOCKS:
            decide(feedstock, None)
        assert totals() == recounted()  # plain SQL, by the published densities
        published = ledger.replay(map(history.entry_of, Entry.objects.select_related("bay")), PUBLISHED).bays
        assert kept()["bays"] == {uid: ledger.to_plain(state) for uid, state in published.items()}

    @settings(max_examples=25, deadline=None)
    @given(raws=random_ledgers.ledgers(SITE, BAYS), one=DECISIONS, seed=st.integers(0, 2**32))
    def test_overriding_and_taking_back_leaves_every_byte_as_it_was(
        self, raws: list[dict[str, Any]], one: Told, seed: int
    ) -> None:
        ground()
        ada, _bo = people()
        take(raws, ada)
        before = as_text()
        decide(*one)
        decide(one[0], None)
        assert as_text() == before
        late = raw_entry("dropoff", BAYS[seed % 4], seed % 120, A_LOAD)  # no checkpoint holds old grams
        take([late], ada, 1)
        assert kept()["bays"] == replayed()

    @settings(max_examples=25, deadline=None)
    @given(raws=random_ledgers.ledgers(SITE, BAYS), feedstock=st.sampled_from(random_ledgers.FEEDSTOCKS), day=DAYS)
    def test_from_a_day_on_leaves_what_was_before_alone(
        self, raws: list[dict[str, Any]], feedstock: str, day: date
    ) -> None:
        ground()
        ada, _bo = people()
        take(raws, ada)
        before = totals()
        look = decide(feedstock, 777, day)
        after = totals()
        earlier = {key for key in before.keys() | after.keys() if key[1] < day or key[3] != feedstock}
        assert {key: before.get(key) for key in earlier} == {key: after.get(key) for key in earlier}
        moved = sum(one.after_g - one.before_g for one in look.years)
        came_in = [sum(sums[1] for key, sums in kept.items() if key[2] == "came in") for kept in (before, after)]
        assert came_in[0] + moved == came_in[1]


A_LOAD = {"feedstock": "grass-fresh", "half_containers": 2, "container_ml": 40_000}


@pytest.mark.django_db
def test_what_is_decided_while_a_letter_is_read_holds_for_its_loads(monkeypatch: pytest.MonkeyPatch) -> None:
    site, (ada, _bo) = ground(), people()
    take([raw_entry("dropoff", BAYS[0], 1, A_LOAD)], ada)
    locked = sync._locked

    def somebody_else_was_first() -> Ledger:
        decide("grass-fresh", 500)
        return locked()

    monkeypatch.setattr(sync, "_locked", somebody_else_was_first)
    take([raw_entry("dropoff", BAYS[0], 2, A_LOAD)], ada, 1)
    assert sum(grams_kept().values()) == 2 * 40_000 * 500 // 1000
    assert history.drift(site) == []


def as_text() -> str:
    """Everything beside the ledger as text, checkpoints too."""
    points = Checkpoint.objects.order_by("bay", "at", "place", "uid").values_list("bay", "at", "place", "uid", "state")
    return json.dumps([kept()["bays"], sorted(map(str, totals().items())), list(points)], default=str, sort_keys=True)


@pytest.mark.django_db
def test_the_outlook_says_what_a_year_goes_from_and_to_and_nothing_is_done_unseen() -> None:
    site, (ada, _bo) = ground(), people()
    take([raw_entry("dropoff", BAYS[0], day, A_LOAD) for day in (0, 40)], ada)
    value = OwnValue(feedstock="grass-fresh", figure="density", number=190, decided_at=NOW)
    look = own_values.keep([value], "")
    assert look is not None and not OwnValue.objects.exists()
    ((moved),) = look.years
    assert (moved.year.label, moved.before_g, moved.after_g) == ("2026", 16_000, 15_200)
    take([raw_entry("dropoff", BAYS[0], 50, A_LOAD)], ada)
    again = own_values.keep([value], look.seal)
    assert again is not None and again.years[0].before_g == 24_000
    assert own_values.keep([value], again.seal) is None
    assert OwnValue.objects.get().moved == [["2026-01-01", 24_000, 22_800]]
    (told,) = own_values.decided("grass-fresh")
    assert (told.before, told.after, told.years[0].after_g) == ("200 kg as published", "190 kg", 22_800)
    assert history.drift(site) == []


@pytest.mark.django_db
def test_years_are_the_cooperative_s_own(cooperative) -> None:
    cooperative.year_starts_in_month = 4
    cooperative.save()
    ground()
    ada, _bo = people()
    take([raw_entry("dropoff", BAYS[0], day, A_LOAD) for day in (0, 60)], ada)  # 1 March, 30 April
    look = decide("grass-fresh", 100)
    assert [(one.year.label, one.after_g - one.before_g) for one in look.years] == [
        ("2025/26", -4_000), ("2026/27", -4_000),
    ]  # fmt: skip


@pytest.mark.django_db
def test_what_comes_back_from_the_sieve_and_openings_move_heaps_but_no_year() -> None:
    ground()
    ada, _bo = people()
    returned = {**A_LOAD, "feedstock": RETURNED}
    lay = {"volume_ml": 100_000, "age_days": 20, "make_up": [[RETURNED, 100]]}
    take([raw_entry("dropoff", BAYS[0], 1, returned), raw_entry("opening", BAYS[1], 1, lay)], ada)
    look = decide(RETURNED, 500)
    assert len(look.changes) == 2 and look.years == ()
    assert {state["batch"]["content"][key]["wet_g"] for state in kept()["bays"].values()
            for key in state["batch"]["content"]} == {20_000, 50_000}  # fmt: skip


@pytest.mark.django_db
def test_what_was_weighed_stays_as_it_was_weighed() -> None:
    ground()
    ada, _bo = people()
    take([raw_entry("dropoff", BAYS[0], 1, {**A_LOAD, "weighed_g": 5_000})], ada)
    assert not decide("grass-fresh", 100).changes
    assert sum(row.wet_g for row in DayTotal.objects.all()) == 5_000


@pytest.mark.django_db
def test_a_local_day_begins_at_the_local_midnight(site: Site) -> None:
    assert own_values.start_of(date(2026, 7, 1)) == datetime(2026, 6, 30, 23, tzinfo=UTC)


@pytest.mark.django_db
def test_figures_that_do_not_go_together_are_asked_about() -> None:
    both = {"feedstock": "grass-fresh", "decided_at": NOW}
    look = own_values.outlook(OwnValue(figure="nitrogen", number=6, **both))
    assert any("96 % carbon" in doubt for doubt in look.doubts)
    assert own_values.outlook(OwnValue(figure="nitrogen", number=3, **both)).doubts == ()
    assert any(
        "71 to 85" in doubt for doubt in own_values.outlook(OwnValue(figure="moisture", number=50, **both)).doubts
    )


@pytest.mark.django_db
def test_a_load_of_what_the_cooperative_never_takes_is_in_and_asked_about(
    keep: Any, bay: Any, member: Member, at: Callable[..., datetime]
) -> None:
    OwnValue.objects.create(feedstock="coffee", figure="gate", chosen="never", since=at(5, 2), decided_at=at(5, 2))
    a_load = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
    keep("dropoff", bay, at(5, 1), by=member, **a_load)
    assert not Question.objects.exists()
    keep("dropoff", bay, at(5, 3), by=member, **a_load)
    assert Question.objects.get().why == Question.Why.RULE
    assert DayTotal.objects.filter(detail="coffee").count() == 2


@pytest.mark.django_db
def test_a_material_that_nobody_made_is_refused_and_one_withdrawn_is_still_taken(keep: Any, bay: Any, at: Any) -> None:
    key = own_values.new_key()
    a_load = {"feedstock": key, "half_containers": 2, "container_ml": 10_000}
    for kind, bay_of in (("dropoff", bay), ("stocktake", None)):
        receipt = keep(kind, bay_of, at(5, 1), wants="refused", **a_load)
        assert "not on the list" in receipt.reason
    OwnValue.objects.create(feedstock=key, figure="relative", chosen="coffee", decided_at=NOW)
    OwnValue.objects.create(feedstock=key, figure="offered", chosen="no", decided_at=NOW)
    keep("dropoff", bay, at(5, 1), **a_load)
    assert known_materials()[key].short == FEEDSTOCKS["coffee"].short
    assert DayTotal.objects.get().wet_g == 10 * (FEEDSTOCKS["coffee"].density_kg_m3 or 0)


@pytest.mark.django_db
def test_an_own_material_of_what_never_goes_in_is_refused_at_the_door(keep: Any, bay: Any, at: Any) -> None:
    key = own_values.new_key()
    OwnValue.objects.create(feedstock=key, figure="relative", chosen="nappies", decided_at=NOW)
    OwnValue.objects.create(feedstock=key, figure="gate", chosen="yes", decided_at=NOW)
    a_load = {"feedstock": key, "half_containers": 2, "container_ml": 10_000}
    assert "never goes in" in keep("dropoff", bay, at(5, 1), wants="refused", **a_load).reason
    keep("refused_load", bay, at(5, 1), feedstock=key, why="never goes in", uid=str(uuid.uuid4()))
