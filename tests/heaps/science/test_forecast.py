"""Bags and months to expect: the published ranges come through, and guesses only ever widen them."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.science.forecast import Range, bags_in, bags_to_expect, ready_between

MAY_DAY = date(2026, 5, 1)


def test_a_cubic_metre_of_loose_leaves_gives_a_fifth_to_a_third_of_leaf_mould() -> None:
    """Reckoned in the leaf-mould notes: 0.2 to 0.3 m3, or down to a quarter or a third."""
    bags = bags_to_expect(1_000, 40, leaf=True)
    assert bags == Range(5, 9)  # 200 to 350 litres


def test_a_mixed_heap_gives_a_fifth_to_three_fifths_of_what_was_tipped() -> None:
    """At most three quarters of the heap is left (NRAES-54), and the heap is 1.25 times denser than as tipped."""
    assert bags_to_expect(1_000, 40) == Range(5, 15)  # 212 to 600 litres


def test_an_opening_guess_widens_the_range_both_ways() -> None:
    sure, guessed = bags_to_expect(2_000, 40), bags_to_expect(2_000, 40, guessed=True)
    assert guessed.low < sure.low < sure.high < guessed.high


def test_nothing_tipped_gives_no_bags() -> None:
    assert bags_to_expect(0, 40) == Range(0, 0)


@given(st.floats(0, 100_000), st.floats(1, 2_000), st.booleans(), st.booleans())
def test_bags_never_hold_more_than_was_tipped(tipped_l: float, bag_l: float, leaf: bool, guessed: bool) -> None:
    bags = bags_to_expect(tipped_l, bag_l, leaf, guessed)
    assert 0 <= bags.low <= bags.high
    assert bags.low <= bags_in(tipped_l, bag_l)
    assert bags.high <= bags_in(tipped_l, bag_l) + 1


@pytest.mark.parametrize(
    ("turns", "days", "leaf", "weeks", "why"),
    [
        (0, 200, False, (39, 104), "never turned"),
        (1, 200, False, (39, 104), "turned once in half a year"),
        (4, 120, False, (26, 52), "about monthly"),
        (6, 42, False, (8, 16), "weekly"),
        (2, 10, False, (26, 52), "two early turns are no habit yet"),
        (6, 42, True, (52, 104), "leaves take their time however often they are turned"),
        (0, 0, False, (39, 104), "fed today"),
    ],
)
def test_weeks_follow_the_published_times(turns: int, days: int, leaf: bool, weeks: tuple[int, int], why: str) -> None:
    earliest, latest = ready_between(MAY_DAY, turns, days, leaf)
    assert ((earliest - MAY_DAY).days // 7, (latest - MAY_DAY).days // 7) == weeks, why


@given(st.integers(0, 200), st.integers(0, 2_000), st.booleans())
def test_the_range_is_never_a_date(turns: int, days: int, leaf: bool) -> None:
    earliest, latest = ready_between(MAY_DAY, turns, days, leaf)
    assert (latest - earliest).days >= 56


@given(st.integers(0, 200), st.integers(0, 200), st.integers(0, 2_000))
def test_more_turns_never_make_it_later(turns: int, more: int, days: int) -> None:
    slow, quick = ready_between(MAY_DAY, turns, days), ready_between(MAY_DAY, turns + more, days)
    assert quick[0] <= slow[0]
    assert quick[1] <= slow[1]
