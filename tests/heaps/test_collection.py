"""Bags to expect: wide ranges that follow the published figures, and never a day."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from django.test import Client
from django.urls import reverse

from heaps.collection import bags_so_far, expected
from heaps.science.forecast import Range
from members.models import Member

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
A_CUBIC_METRE = {"half_containers": 2, "container_ml": 1_000_000}


def test_an_unturned_heap_takes_nine_months_to_two_years(bay, keep, at) -> None:
    """39 to 104 weeks from the last load; 1,000 litres tipped give 212 to 600, in bags of 40."""
    keep("dropoff", bay, at(5, 1), feedstock="peelings", **A_CUBIC_METRE)
    (heap,) = expected(NOW)
    assert (heap.earliest, heap.latest) == (date(2027, 1, 1), date(2028, 4, 1))
    assert heap.bags == Range(5, 15)
    assert "each further load moves it on" in heap.why


def test_turning_every_month_shortens_it(bay, keep, at) -> None:
    keep("dropoff", bay, at(4, 1), feedstock="peelings", **A_CUBIC_METRE)
    for month in (4, 5):
        keep("turn", bay, at(month, 28), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    (heap,) = expected(NOW)
    assert (heap.earliest, heap.latest) == (date(2026, 9, 1), date(2027, 3, 1))
    assert "monthly" in heap.why


@pytest.mark.parametrize("where, what", [("Leaf bin", "peelings"), ("Bay 1", "leaves-oak")])
def test_a_leaf_bin_and_leaves_alone_become_leaf_mould(site, keep, at, where: str, what: str) -> None:
    keep("dropoff", site.bays.get(name=where), at(5, 1), feedstock=what, **A_CUBIC_METRE)
    (heap,) = expected(NOW)
    assert heap.leaf and heap.bags == Range(5, 9) and heap.earliest == date(2027, 4, 1)


def test_ready_heaps_come_first_and_name_no_month(bay, second_bay, keep, at) -> None:
    keep("dropoff", bay, at(1, 1), feedstock="peelings", **A_CUBIC_METRE)
    keep("dropoff", second_bay, at(2, 1), feedstock="peelings", **A_CUBIC_METRE)
    keep("verdict", second_bay, at(5, 20), test="cress", ready="ready")
    first, second = expected(NOW)
    assert (first.bay, first.stage, first.earliest, first.latest) == ("Bay 2", "ready", None, None)
    assert second.bay == "Bay 1"


def test_months_that_have_passed_are_not_named(bay, keep, at) -> None:
    keep("opening", bay, datetime(2023, 1, 1, tzinfo=UTC), volume_ml=500_000, age_days=1,
         make_up=[["peelings", 100]])  # fmt: skip
    (heap,) = expected(NOW)
    assert heap.earliest == heap.latest == date(2026, 6, 1) and heap.maybe_now
    assert "guess" in heap.why


def test_what_was_taken_out_is_expected_no_more(bay, keep, at) -> None:
    keep("dropoff", bay, at(1, 1), feedstock="peelings", **A_CUBIC_METRE)
    keep("harvest", bay, at(5, 1), half_bags=9, bag_ml=40_000, per_cent=50, sieved="sieved")
    (heap,) = expected(NOW)
    assert heap.bags == Range(2, 8)


def test_bags_made_and_fetched_are_counted(bay, keep, at) -> None:
    keep("dropoff", bay, at(1, 1), feedstock="peelings", **A_CUBIC_METRE)
    keep("harvest", bay, at(5, 1), half_bags=9, bag_ml=40_000, per_cent=50, sieved="sieved")
    keep("collection", None, at(5, 2), half_bags=3, bag_ml=40_000)
    assert [(one.site, one.made, one.fetched) for one in bags_so_far()] == [("Lane Side", 9, 3)]


def test_the_page_names_months_and_never_a_day(
    client_of: Callable[[Member | None], Client], member, bay, keep, at
) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="peelings", **A_CUBIC_METRE)
    page = client_of(member).get(reverse("heaps:collect")).content.decode()
    main = page[page.index("<main") :]
    assert re.search(r"Between \w+ 20\d\d and \w+ 20\d\d", main)
    assert not re.search(r"\b\d{1,2}(st|nd|rd|th)? (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)", main)
    assert not re.search(r"\d{4}-\d{2}-\d{2}", main)
    assert "5 to 15 bags of 40 litres" in main
