"""What must hold of forecasts whatever was done, read or mistyped."""

from collections.abc import Callable, Iterator, Sequence
from functools import cache
from itertools import pairwise
from math import inf, isfinite, log
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from heaps.science.climate import UK_LOWLAND
from heaps.science.living import forecast, outlook
from heaps.science.living.events import Deposit, Event, Move, Opening, Taking, Turn, Watering
from heaps.science.living.foresight import Doubt, Forecast, Range
from heaps.science.living.outlook import Ground, Learning, Record
from heaps.science.living.parameters import drawn, middle
from heaps.science.living.readings import Fill, Warmth, Why
from heaps.science.living.run import run
from heaps.science.living.state import Bay
from tests.living_heaps import BAY, GOOD, MAY, batch, fed, part, season, tipped

FED = tuple(fed(range(0, 90, 7), times=0.08))
TIPPED_L, TODAY = 13 * 0.08 * 1500, 120
MEMBERS, FEW = drawn(1, 40), drawn(3, 6)


@pytest.fixture(autouse=True, scope="module")
def one_run_for_the_same_events() -> Iterator[None]:
    """Readings change nothing in a run, so that the same events are run once, and looked ahead less far."""
    lived: dict[object, object] = {}

    def once(*args: object, real: Callable[..., object] = forecast.run, **more: object) -> object:
        bays, events, members, days = args
        key = (tuple(bays), tuple(events), id(members), len(days))  # type: ignore[arg-type]  # of the types it asks for
        if key not in lived:
            lived[key] = real(*args, **more)
        return lived[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(forecast, "run", once)
        patch.setattr(outlook, "AHEAD_DAYS", 200)
        yield


def told(warmths: Sequence[Warmth] = (), fills: Sequence[Fill] = ()) -> Forecast:
    ground = Ground([BAY], [1.2], FED, MAY, TODAY)
    record = Record(TIPPED_L, tuple(warmths), tuple(fills))
    return forecast.foresee(ground, {0: record}, MEMBERS, UK_LOWLAND, Learning())[0]


@cache
def plain() -> Forecast:
    return told()


def width(one: Range) -> float:
    return one.high / one.low


def can_be_shown(one: Forecast) -> bool:
    bands = [(band.low, band.middle, band.high) for band in (one.temperature, one.fill)]
    numbers = [one.bags.low, one.bags.middle, one.bags.high, one.days.low, one.days.middle, one.days.high]
    return (
        all(map(isfinite, numbers))
        and 0 <= one.bags.low < one.bags.middle < one.bags.high
        and 0 < one.days.low < one.days.middle < one.days.high
        and all(low < mid < high < inf for band in bands for low, mid, high in zip(*band, strict=True))
    )


DAYS = st.integers(0, TODAY)
GOOD_WARMTHS = st.lists(st.builds(Warmth, DAYS, st.floats(5, 75)), max_size=8, unique_by=lambda one: one.day)
GOOD_FILLS = st.lists(st.builds(Fill, DAYS, st.floats(0.1, 1.5)), max_size=6, unique_by=lambda one: one.day)
ANY_WARMTHS = st.lists(
    st.builds(
        Warmth,
        st.integers(-60, TODAY),
        st.floats(-300, 5_000),
        st.none() | st.floats(-40, 45),
        st.sampled_from(["", "long", "old"]),
    ),
    max_size=12,
)
ANY_FILLS = st.lists(st.builds(Fill, st.integers(-60, TODAY), st.floats(-1, 10)), max_size=6)
TYPO = st.builds(Warmth, DAYS, st.floats(91, 900) | st.floats(-90, -16))
EARLY = st.builds(Warmth, st.integers(-90, -1), st.floats(5, 75))
STUCK = st.integers(0, 40).map(lambda first: [Warmth(first + 5 * week, 20.0, probe="stuck") for week in range(6)])
OVERFULL = st.builds(Fill, DAYS, st.floats(2.01, 40) | st.floats(-5, 0))


@settings(max_examples=40, deadline=None)
@given(ANY_WARMTHS, ANY_FILLS)
def test_whatever_was_typed_there_is_a_forecast_that_says_what_was_set_aside(
    warmths: list[Warmth], fills: list[Fill]
) -> None:
    said = told(warmths, fills)
    assert can_be_shown(said)
    counted = [one for one in said.set_aside if one.why is not Why.SILENCE]
    cannot_be = [one for one in warmths if one.day < 0 or not -15 <= one.core_c <= 90]
    cannot_be_full = [one for one in fills if one.day < 0 or not 0 < one.share <= 2]
    assert len(counted) >= len(cannot_be) + len(cannot_be_full)
    assert (Doubt.SET_ASIDE in said.why_wide) is bool(counted)
    assert (Doubt.SILENCE in said.why_wide) is (len(counted) < len(said.set_aside))


@settings(max_examples=25, deadline=None)
@given(
    GOOD_WARMTHS, GOOD_FILLS, st.lists(TYPO | EARLY, max_size=4), STUCK | st.just([]), st.lists(OVERFULL, max_size=3)
)
def test_what_is_set_aside_moves_no_number(
    warmths: list[Warmth], fills: list[Fill], bad: list[Warmth], stuck: list[Warmth], overfull: list[Fill]
) -> None:
    clean, soiled = told(warmths, fills), told([*bad, *warmths, *stuck], [*overfull, *fills])
    for name in ("bags", "days", "ready", "temperature", "fill", "what_if", "worth", "balance"):
        assert getattr(clean, name) == getattr(soiled, name), name


@settings(max_examples=15, deadline=None)
@given(GOOD_WARMTHS, GOOD_FILLS, st.randoms(use_true_random=False))
def test_in_whatever_order_readings_arrive_they_say_the_same(
    warmths: list[Warmth], fills: list[Fill], chance: Random
) -> None:
    late_warmths, late_fills = warmths.copy(), fills.copy()
    chance.shuffle(late_warmths)
    chance.shuffle(late_fills)
    assert told(late_warmths, late_fills) == told(warmths, fills)


@settings(max_examples=20, deadline=None)
@given(GOOD_WARMTHS, GOOD_FILLS)
def test_no_further_reading_widens_a_range_without_saying_why(warmths: list[Warmth], fills: list[Fill]) -> None:
    def up_to(day: int) -> Forecast:
        return told([one for one in warmths if one.day <= day], [one for one in fills if one.day <= day])

    days = [-1, *sorted({one.day for one in (*warmths, *fills)})]
    for earlier, later in pairwise(days[-4:]):
        before, now = up_to(earlier), up_to(later)
        for name in ("bags", "days"):
            if log(width(getattr(now, name))) > log(width(getattr(before, name))) * 1.011:
                assert {Doubt.NEWEST, Doubt.SET_ASIDE} & {*now.why_wide}, name
        if width(now.bags) > width(plain().bags) * 1.001:
            assert Doubt.SURPRISE in now.why_wide


COLD = [Warmth(day, 12.0) for day in (20, 40, 60, 80)]


def test_a_reading_far_from_those_before_widens_the_range_and_is_named() -> None:
    before, hot, steady = told(COLD), told([*COLD, Warmth(110, 80.0)]), told([*COLD, Warmth(110, 12.5)])
    assert width(hot.days) > width(before.days) * 1.03 and Doubt.NEWEST in hot.why_wide
    assert width(steady.days) < width(before.days) * 1.01 and Doubt.NEWEST not in steady.why_wide


def test_readings_that_leave_less_known_than_none_are_named() -> None:
    odd = told(COLD, [Fill(110, 0.05)])
    assert width(odd.bags) > width(plain().bags) and Doubt.SURPRISE in odd.why_wide
    assert Doubt.SURPRISE not in told(fills=[Fill(110, 0.4)]).why_wide


ROWS = st.integers(0, 2)
BAYS = [BAY, Bay(1.2, 1.0, covered=False), Bay(0.9, 0.9, covered=False, leaf=True)]
PARTS = st.builds(part, st.sampled_from([*GOOD, "cardboard", "soil", "urine", "wood-chip"]), st.floats(1, 400))
HAPPENINGS = st.lists(
    st.one_of(
        st.builds(Deposit, st.integers(0, 20), ROWS, PARTS),
        st.builds(Turn, st.integers(0, 20), ROWS),
        st.builds(Move, st.integers(0, 20), ROWS, ROWS, st.sampled_from([0.25, 1.0])),
        st.builds(Watering, st.integers(0, 20), ROWS, st.floats(1, 400)),
        st.builds(Taking, st.integers(0, 20), ROWS, st.sampled_from([0.5, 1.0])),
        st.builds(Opening, st.integers(0, 20), ROWS, st.tuples(PARTS), st.floats(0, 900)),
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=12, deadline=None)
@given(HAPPENINGS)
def test_bags_are_never_negative_and_an_empty_bay_forecasts_nothing(events: list[Event]) -> None:
    records = {row: Record(100.0) for row in range(len(BAYS))}
    emptied = [*events, Taking(20, 0)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlook, "LEAF_AHEAD_DAYS", 20)
        found = forecast.foresee(Ground(BAYS, [1.2] * 3, emptied, MAY, 21), records, FEW, UK_LOWLAND, Learning())
    assert 0 not in found
    for said in found.values():
        assert said.bags.low >= 0 and all(one.bags >= 0 for one in said.what_if.values())
        assert said.balance.dry_kg > 0 and said.balance.volume_l >= 0


@settings(max_examples=25, deadline=None)
@given(st.floats(0.2, 2.5), st.floats(1.0, 4.0), st.sampled_from([1, 4, 7, 10]))
def test_a_bigger_well_blended_heap_is_not_colder(small: float, times: float, month: int) -> None:
    days = season(MAY.replace(month=month), 14)
    hottest = [
        float(run([Bay(side, side)], batch(times=volume), middle(), days).core_c.max())
        for volume in (small, small * times)
        for side in [(1.2 * volume) ** (1 / 3)]
    ]
    assert hottest[1] > hottest[0] - 0.5


def test_more_of_the_members_go_hot_the_bigger_a_heap_is() -> None:
    """One member goes hot or does not, from half a cubic metre to one. What is shown is all of them, and no switch."""
    hot = []
    for cubic_metres in (0.34, 0.45, 0.55, 0.65, 0.85, 1.2):
        side_m = (1.2 * cubic_metres) ** (1 / 3)
        events = batch(times=cubic_metres / 1.2)
        of = run([Bay(side_m, side_m)], events, drawn(1, 100), season(MAY, 30)).core_c.max(axis=0)
        hot.append(float((of > 45).mean()))
    assert hot == sorted(hot)
    assert hot[0] < 0.3 and hot[-1] > 0.75
    assert max(more - less for less, more in pairwise(hot)) < 0.3


@settings(max_examples=6, deadline=None)
@given(st.floats(100, 3_000), st.sampled_from([1, 4, 7, 10]))
def test_only_cardboard_is_said_not_to_heat(litres: float, month: int) -> None:
    ground = Ground([BAY], [1.2], tipped({"cardboard": litres}), MAY.replace(month=month), 5)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlook, "AHEAD_DAYS", 60)
        said = forecast.foresee(ground, {0: Record(litres)}, FEW, UK_LOWLAND, Learning())[0]
    assert not said.heats and can_be_shown(said)
