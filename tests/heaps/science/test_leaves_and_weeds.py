"""The leaf-mould clock and the soaking tub."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.ledger.choices import TUB_WEEDS
from heaps.science.feedstocks import FEEDSTOCKS, SOURCES
from heaps.science.leaf_mould import DISAGREE, KINDS, Advice, leaf_clock, slowest
from heaps.science.soaking import NEVER_IN_THE_TUB, WEEDS, release

NOVEMBER = date(2026, 11, 15)


def months(later: date) -> float:
    return (later - NOVEMBER).days / 30.4375


def test_every_leaf_of_the_table_has_a_clock_or_goes_elsewhere() -> None:
    leaves = {key for key, one in FEEDSTOCKS.items() if key.startswith("leaves-") or key == "needles"}
    assert set(KINDS) == leaves - {"leaves-wet"}  # those are "mixed", only wet
    for kind in KINDS.values():
        assert kind.claims or Advice.MIXED_HEAP in kind.advice
        assert all(claim.source in SOURCES and claim.checked for claim in kind.claims)
        assert all(one in DISAGREE and one in SOURCES for one in kind.disagreeing)


def test_oak_is_mulch_in_a_year_and_fine_in_two_or_more_as_sources_differ() -> None:
    clock = leaf_clock("leaves-oak", NOVEMBER)
    assert clock.mulch and clock.fine
    assert months(clock.mulch.first) == pytest.approx(12, abs=0.1)
    assert (months(clock.fine.first), months(clock.fine.last)) == (
        pytest.approx(24, abs=0.1), pytest.approx(30, abs=0.1),
    )  # fmt: skip
    assert len({claim.source for claim in clock.claims if claim.fine}) == 2


def test_beech_is_shown_with_the_study_that_disagrees() -> None:
    assert "SARI03" in leaf_clock("leaves-beech", NOVEMBER).disagreeing


def test_quick_leaves_are_quicker_and_tough_ones_slower_than_oak() -> None:
    quick, oak, tough = (leaf_clock(key, NOVEMBER).mulch for key in ("leaves-quick", "leaves-oak", "leaves-thick"))
    assert quick and oak and tough
    assert quick.first < oak.first < tough.first


def test_shredding_shortens_tough_leaves_and_is_then_not_asked_for_again() -> None:
    whole, shredded = leaf_clock("leaves-thick", NOVEMBER), leaf_clock("leaves-thick", NOVEMBER, shredded=True)
    assert whole.mulch and shredded.mulch
    assert months(shredded.mulch.first) == pytest.approx(14.4, abs=0.1)
    assert months(shredded.mulch.last) < months(whole.mulch.last)
    assert Advice.SHRED in whole.advice and Advice.SHRED not in shredded.advice
    assert Advice.SECOND_YEAR_MIXED in whole.advice


def test_a_dry_bin_has_no_clock_until_it_is_wetted() -> None:
    clock = leaf_clock("leaves-oak", NOVEMBER, dry=True)
    assert clock.mulch is clock.fine is None and clock.advice[0] is Advice.WET_IT


def test_evergreens_go_into_a_heap_and_needles_apart() -> None:
    assert leaf_clock("leaves-evergreen", NOVEMBER).mulch is None
    assert leaf_clock("needles", NOVEMBER).advice == (Advice.APART,)


def test_the_slowest_kind_of_a_bin_counts() -> None:
    assert slowest({"leaves-quick", "leaves-thick", "leaves-oak"}) == "leaves-thick"
    assert slowest({"leaves-quick", "leaves-oak"}) == "leaves-oak"  # a mulch as soon, but fine a year later
    assert slowest({"leaves-quick"}) == "leaves-quick"
    assert slowest({"grass-fresh"}) is None


def test_every_weed_that_an_entry_can_name_has_a_time_and_a_source() -> None:
    assert set(TUB_WEEDS) <= set(WEEDS)
    assert all(one.source in SOURCES or one.source == "practice" for one in WEEDS.values())


def test_the_slowest_weed_of_a_tub_decides() -> None:
    may = date(2027, 5, 1)
    couch, both = release(["couch"], may), release(["couch", "bindweed", "couch"], may)
    assert couch and (couch.first, couch.last) == (may + timedelta(weeks=3), may + timedelta(weeks=6))
    assert both and both.by == ("bindweed",) and both.first == may + timedelta(weeks=6)
    assert release([], may) is None


@pytest.mark.parametrize(("month", "weeks"), [(9, 3), (10, 6), (4, 3)])
def test_cold_water_takes_twice_as_long(month: int, weeks: int) -> None:
    soaked = date(2027, month, 1)
    found = release(["couch"], soaked)
    assert found and found.first == soaked + timedelta(weeks=weeks)


@pytest.mark.parametrize(
    ("soaked", "days"),
    [
        (date(2027, 9, 19), 12 + 2 * 9),  # 12 warm days, and the other 9 of 21 count half
        (date(2027, 3, 22), 10 + 16),  # 10 cold days are 5 of 21
    ],
)
def test_only_the_cold_days_count_half(soaked: date, days: int) -> None:
    found = release(["couch"], soaked)
    assert found and (found.first - soaked).days == days


def test_what_may_carry_seed_goes_to_a_hot_heap_and_no_fleshy_root_is_left_to_the_sun() -> None:
    assert release(["dock"], NOVEMBER).to_hot_heap  # type: ignore[union-attr]  # it is there
    assert not release(["couch"], NOVEMBER).to_hot_heap  # type: ignore[union-attr]  # it is there
    assert not any(WEEDS[one].sun for one in ("bindweed", "dock", "dandelion", "horsetail", "seed heads", "other"))


def test_what_never_goes_in_the_tub_is_never_taken_at_all() -> None:
    assert all(FEEDSTOCKS[key].acceptance == "never" for key in NEVER_IN_THE_TUB)
    assert "invasive-plants" in NEVER_IN_THE_TUB


@given(st.lists(st.sampled_from(sorted(WEEDS)), min_size=1), st.sampled_from(sorted(WEEDS)))
def test_another_weed_never_brings_the_day_forward(words: list[str], more: str) -> None:
    before, after = release(words, NOVEMBER), release([*words, more], NOVEMBER)
    assert before and after and after.first >= before.first
