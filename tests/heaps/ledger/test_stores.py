"""Bags in store and what soaks in the tub: pure functions of the ledger."""

from datetime import UTC, datetime, timedelta
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from heaps.ledger import Entry
from heaps.ledger.bags import bags_in_store
from heaps.ledger.kinds import Collection, Harvest, Kind, Soak, Spread, Stocktake
from heaps.ledger.tub import soaking

START = datetime(2026, 6, 1, 9, tzinfo=UTC)
BAG = 40_000


def entries(*told: Kind) -> list[Entry]:
    """One a day, in this order."""
    return [Entry(f"{day:04}", None, START + timedelta(days=day), what) for day, what in enumerate(told)]


def made(half_bags: int, bag_ml: int = BAG) -> Harvest:
    return Harvest(half_bags, bag_ml, 50, "sieved")


def test_bags_are_made_fetched_spread_and_counted() -> None:
    one = bags_in_store(entries(made(20), Collection(4, BAG), Spread(100, None, 6, BAG)))[BAG]
    assert (one.in_store, one.made, one.fetched, one.spread, one.unexplained) == (10, 20, 4, 6, 0)
    counted = bags_in_store(entries(made(20), Collection(4, BAG), Stocktake(11, BAG), Collection(2, BAG)))[BAG]
    assert (counted.in_store, counted.made, counted.fetched) == (9, 0, 2)
    assert counted.counted is not None and counted.counted.what == Stocktake(11, BAG)


def test_a_count_of_a_material_is_no_count_of_bags() -> None:
    assert bags_in_store(entries(made(4), Stocktake(0, BAG, "straw-wheat")))[BAG].in_store == 4


def test_each_size_is_counted_by_itself() -> None:
    found = bags_in_store(entries(made(4), made(6, 20_000), Collection(2, 20_000)))
    assert {size: one.in_store for size, one in found.items()} == {BAG: 4, 20_000: 4}


def test_more_fetched_than_made_is_told_and_never_less_than_none() -> None:
    one = bags_in_store(entries(made(2), Collection(6, BAG), made(4)))[BAG]
    assert (one.in_store, one.unexplained) == (4, 4)


BAGS = st.lists(
    st.one_of(
        st.integers(1, 9).map(made),
        st.integers(1, 9).map(lambda n: Collection(n, BAG)),
        st.integers(0, 30).map(lambda n: Stocktake(n, BAG)),
        st.integers(1, 9).map(lambda n: Spread(10, None, n, BAG)),
    ),
    max_size=20,
)


@given(BAGS, st.randoms(use_true_random=False))
def test_the_order_of_arrival_does_not_matter_and_nothing_gets_lost(told: list[Kind], chance: Random) -> None:
    here = entries(*told)
    found = bags_in_store(here)
    shuffled = list(here)
    chance.shuffle(shuffled)
    assert bags_in_store(shuffled) == found
    for one in found.values():
        counted = one.counted.what.half_containers if one.counted else 0  # type: ignore[union-attr]  # a stocktake
        assert one.in_store >= 0
        assert one.in_store - one.unexplained == counted + one.made - one.fetched - one.spread


def into(weed: str, halves: int) -> Soak:
    return Soak(weed, "in", halves, 10_000)


def out_of(weed: str, halves: int) -> Soak:
    return Soak(weed, "out", halves, 10_000)


def test_what_went_in_first_comes_out_first() -> None:
    found = soaking(entries(into("dock", 4), into("couch", 2), into("dock", 2), out_of("dock", 5)))
    assert [(one.weed, one.volume_ml, (one.since - START).days) for one in found] == [
        ("couch", 10_000, 1), ("dock", 5_000, 2),
    ]  # fmt: skip


def test_more_out_than_in_leaves_no_debt() -> None:
    assert soaking(entries(into("dock", 2), out_of("dock", 9))) == ()
    found = soaking(entries(into("dock", 2), out_of("dock", 9), into("dock", 2)))
    assert [one.volume_ml for one in found] == [10_000]
