"""Bags to expect: wide ranges that follow the published figures, and never a day."""

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from heaps import history
from heaps.collection import Expected, bags_so_far, expected
from heaps.foreseeing import forecast_all, ground
from heaps.foretold import Foretold, foretold_of
from heaps.models import Site
from heaps.science.living import forecast as living_forecast
from heaps.science.living import outlook
from members.models import Member

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
A_CUBIC_METRE = {"half_containers": 2, "container_ml": 1_000_000}
A_DAY = r"\b\d{1,2}(st|nd|rd|th)? (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)"


def months_of(heap: Expected) -> tuple[tuple[int, int], tuple[int, int] | None]:
    first, last = heap.ahead.ready.first, heap.ahead.ready.last
    return (first.year, first.month), last and (last.year, last.month)


def bags_of(heap: Expected) -> tuple[float, float]:
    return heap.ahead.bags.low, heap.ahead.bags.high


def test_an_unturned_heap_takes_nine_months_to_two_years(bay, keep, at) -> None:
    """39 to 104 weeks from the last load; 1,000 litres tipped give 212 to 600, in bags of 40."""
    keep("dropoff", bay, at(5, 1), feedstock="peelings", **A_CUBIC_METRE)
    (heap,) = expected(NOW)
    assert months_of(heap) == ((2027, 1), (2028, 4))
    assert bags_of(heap) == (5, 15)
    assert "each further load moves it on" in heap.ahead.why


def test_turning_every_month_shortens_it(bay, keep, at) -> None:
    keep("dropoff", bay, at(4, 1), feedstock="peelings", **A_CUBIC_METRE)
    for month in (4, 5):
        keep("turn", bay, at(month, 28), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    (heap,) = expected(NOW)
    assert months_of(heap) == ((2026, 9), (2027, 3))
    assert "monthly" in heap.ahead.why


@pytest.mark.parametrize("where, what", [("Leaf bin", "peelings"), ("Bay 1", "leaves-oak")])
def test_a_leaf_bin_and_leaves_alone_become_leaf_mould(site, keep, at, where: str, what: str) -> None:
    keep("dropoff", site.bays.get(name=where), at(5, 1), feedstock=what, **A_CUBIC_METRE)
    (heap,) = expected(NOW)
    assert heap.leaf and bags_of(heap) == (5, 9) and heap.first == (2027, 4)


def test_ready_heaps_come_first_and_name_no_month(bay, second_bay, keep, at) -> None:
    keep("dropoff", bay, at(1, 1), feedstock="peelings", **A_CUBIC_METRE)
    keep("dropoff", second_bay, at(2, 1), feedstock="peelings", **A_CUBIC_METRE)
    keep("verdict", second_bay, at(5, 20), test="cress", ready="ready")
    first, second = expected(NOW)
    assert (first.bay, first.stage, first.when) == ("Bay 2", "ready", "Ready now.")
    assert second.bay == "Bay 1"


def test_months_that_have_passed_are_not_named(bay, keep, at) -> None:
    keep("opening", bay, datetime(2023, 1, 1, tzinfo=UTC), volume_ml=500_000, age_days=1,
         make_up=[["peelings", 100]])  # fmt: skip
    (heap,) = expected(NOW)
    assert months_of(heap) == ((2026, 6), (2026, 6)) and heap.when == "May be ready now: test it."
    assert "guess" in heap.ahead.why


def test_what_was_taken_out_is_expected_no_more(bay, keep, at) -> None:
    keep("dropoff", bay, at(1, 1), feedstock="peelings", **A_CUBIC_METRE)
    keep("harvest", bay, at(5, 1), half_bags=9, bag_ml=40_000, per_cent=50, sieved="sieved")
    (heap,) = expected(NOW)
    assert bags_of(heap) == (2, 8)


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
    assert not re.search(A_DAY, main)
    assert not re.search(r"\d{4}-\d{2}-\d{2}", main)
    assert "5 to 15 bags of 40 litres" in main


@pytest.fixture
def forecast(bay, keep, at, monkeypatch: pytest.MonkeyPatch) -> Foretold:
    """A heap of last month, and what the timer made of it."""
    monkeypatch.setattr(ground, "MEMBERS", 12)
    monkeypatch.setattr(outlook, "AHEAD_DAYS", 90)
    now = timezone.now()
    for feedstock in ("grass-fresh", "leaves-mixed"):
        keep("dropoff", bay, now - timedelta(days=40), feedstock=feedstock, **A_CUBIC_METRE)
    assert sum(one.forecasts for one in forecast_all(now)) == 1
    said = foretold_of(bay.pk, history.current_states([bay.site_id])[str(bay.uid)].batch)
    assert said
    return said


def test_a_forecast_takes_the_place_of_published_figures(forecast: Foretold, bay) -> None:
    (heap,) = expected(timezone.now())
    assert heap.ahead.bags == forecast.bags and heap.ahead.ready == forecast.ready
    assert not heap.ahead.published and heap.ahead.made_on is None
    assert heap.ahead.why.startswith("No harvest is on record yet.") and len(heap.ahead.why.split(". ")) >= 3
    by_rule = 2000 * 0.6 / 40 - 2000 * 0.2125 / 40
    assert heap.ahead.bags.high - heap.ahead.bags.low < by_rule
    assert expected(timezone.now(), Site.objects.create(name="Far Field")) == []


def test_one_that_does_not_know_of_the_last_load_says_its_day(forecast: Foretold, bay, keep) -> None:
    keep("dropoff", bay, timezone.now(), feedstock="hay", **A_CUBIC_METRE)
    (heap,) = expected(timezone.now())
    assert heap.ahead.made_on == forecast.made_on and heap.ahead.bags == forecast.bags


def test_members_and_everybody_read_the_same(forecast: Foretold, client_of, coordinator, bay) -> None:
    (heap,) = expected(timezone.now())
    pages = {
        "collect": client_of(coordinator).get(reverse("heaps:collect")),
        "mine": client_of(coordinator).get(reverse("heaps:mine")),
        "public site": Client().get(reverse("heaps:public_site", args=[bay.site.uid])),
        "public bay": Client().get(reverse("heaps:public_bay", args=[bay.site.uid, bay.uid])),
    }
    for name, answer in pages.items():
        page = unescape(answer.content.decode())
        assert heap.when in page and heap.how_much in page, name
        assert not re.search(A_DAY, heap.when)  # months at the most; test_forecast_words.py has these
    for name in ("collect", "public bay"):
        page = unescape(pages[name].content.decode())
        assert "Why it is no closer<" in page and "No harvest is on record yet." in page, name
        assert "published figures" not in page, name


def test_no_page_reckons_a_forecast(forecast: Foretold, client_of, coordinator, bay, monkeypatch) -> None:
    def never(*_args: object, **_more: object) -> None:
        raise AssertionError

    for module in (living_forecast, outlook):
        monkeypatch.setattr(module, "run", never)
    for name, args in (("collect", []), ("mine", []), ("public_site", [bay.site.uid]), ("heap", [bay.uid])):
        assert client_of(coordinator).get(reverse(f"heaps:{name}", args=args)).status_code == 200
