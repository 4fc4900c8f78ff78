"""Heaps that came to an end as bags: what counts as one, and what came out of it."""

from datetime import timedelta

from heaps.ledger.ended import Ended, ended
from heaps.ledger.kinds import Dropoff, Harvest, Kind, Reading, Share, TipOut, Turn, Verdict
from tests.heaps.ledger.test_living import BAYS, NOON, entries, load

A, B, C, _ = BAYS
LOAD: Dropoff = load()
ALL, HALF = Harvest(10, 40_000, 100, "sieved"), Harvest(6, 40_000, 50, "coarse")
READY, NOT_YET = Verdict("look", "ready"), Verdict("look", "not yet")


def found(*happened: tuple[int, str, Kind]) -> list[Ended]:
    return list(ended(entries(*happened)))


def test_all_bags_since_the_last_load_count_together_and_the_first_ready_decides() -> None:
    (one,) = found(
        (0, A, LOAD), (30, A, LOAD), (90, A, NOT_YET), (100, A, READY), (120, A, READY),
        (130, A, HALF), (140, A, Reading(temp_tenths_c=200)), (150, A, ALL),
    )  # fmt: skip
    assert (one.bay, one.ml) == (A, 8 * 40_000)
    days = [(at - NOON).days if at else None for at in (one.closed_at, one.ready_at, one.taken_at, one.ended_at)]
    assert days == [30, 100, 130, 150]


def test_what_comes_after_is_another_heap() -> None:
    first, second = found((0, A, LOAD), (99, A, ALL), (100, A, LOAD), (300, A, HALF), (310, A, ALL))
    assert (first.ml, second.ml) == (5 * 40_000, 8 * 40_000)
    assert second.ready_at is None and second.closed_at - first.closed_at == timedelta(days=100)


def test_heaps_that_were_turned_together_are_one() -> None:
    (one,) = found((0, A, LOAD), (0, B, LOAD), (50, C, Turn((Share(A, 100), Share(B, 100)))), (200, C, ALL))
    assert one.bay == C and (one.closed_at - NOON).days == 50
    (onto,) = found((0, A, LOAD), (0, B, LOAD), (50, A, Turn((Share(B, 100),))), (200, A, ALL))
    assert (onto.closed_at - NOON).days == 50


def test_a_heap_that_is_only_turned_waits_on() -> None:
    for bay in (A, C):
        (one,) = found((0, A, LOAD), (40, A, READY), (50, bay, Turn((Share(A, 100),))), (200, bay, ALL))
        assert one.ready_at and [(at - NOON).days for at in (one.closed_at, one.ready_at)] == [0, 40]
        assert (one.came_at - NOON).days == (0 if bay == A else 50)


def test_bags_that_do_not_tell_of_the_whole_heap_teach_nothing() -> None:
    assert not found((0, A, LOAD), (99, A, TipOut()), (100, A, ALL))  # thrown away
    assert not found((0, A, LOAD), (99, A, HALF))  # the rest lies there still
    assert not found((0, A, LOAD), (50, A, HALF), (60, A, LOAD), (200, A, ALL))  # fed again in between
    assert not found((0, A, LOAD), (50, B, Turn((Share(A, 50),))), (200, A, ALL))  # half of it went elsewhere
    assert not found((0, A, LOAD), (50, A, HALF), (60, B, Turn((Share(A, 100),))), (200, B, ALL))
    assert not found((0, A, LOAD), (50, A, Harvest(0, 40_000, 100, "sieved")))  # nothing was bagged
    assert not found((0, A, ALL))  # out of an empty bay
