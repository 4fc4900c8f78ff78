"""What is in store: the last count, less what went in since, whatever order it comes in."""

from datetime import UTC, datetime, timedelta

from heaps.ledger import Entry, stock_from_plain, stock_of, stock_to_plain
from heaps.ledger.kinds import Dropoff, Stocktake

NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)


def count(day: int, halves: int, feedstock: str = "straw-wheat", container_ml: int = 60_000) -> Entry:
    return Entry(f"c{day}", None, NOON + timedelta(days=day), Stocktake(halves, container_ml, feedstock))


def load(day: int, halves: int, feedstock: str = "straw-wheat") -> Entry:
    return Entry(f"l{day}", "bay", NOON + timedelta(days=day), Dropoff(feedstock, halves, 60_000))


def test_loads_since_the_count_are_taken_off() -> None:
    stock = stock_of([load(0, 8), count(1, 10), load(2, 3), load(3, 1, "cardboard")])
    (straw,) = stock.values()
    assert (straw.counted_ml, straw.went_ml, straw.left_ml) == (300_000, 90_000, 210_000)
    assert straw.at == NOON + timedelta(days=1)


def test_a_count_takes_the_place_of_the_one_before() -> None:
    stock = stock_of([count(1, 10), load(2, 3), count(3, 4, container_ml=80_000)])
    assert (stock["straw-wheat"].left_ml, stock["straw-wheat"].container_ml) == (160_000, 80_000)


def test_there_is_never_less_than_nothing() -> None:
    assert stock_of([count(1, 1), load(2, 9)])["straw-wheat"].left_ml == 0


def test_what_was_tipped_at_the_moment_of_the_count_was_gone_by_then() -> None:
    assert stock_of([load(1, 4), count(1, 10)])["straw-wheat"].went_ml == 0


def test_bags_of_compost_are_no_material() -> None:
    assert stock_of([Entry("b", None, NOON, Stocktake(9, 40_000))]) == {}


def test_it_goes_to_json_and_back() -> None:
    stock = stock_of([count(1, 10), load(2, 3), count(2, 3, "cardboard")])
    assert stock_from_plain(stock_to_plain(stock)) == stock
