"""What to weigh next: out of the ledger's own sums, what is estimated only, and what was weighed already."""

from datetime import date
from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from heaps.models import Bay, OwnValue
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.weighings import next_to_weigh, weighings

pytestmark = pytest.mark.ledger
YEAR = (date(2026, 1, 1), date(2027, 1, 1))
A_LOAD: dict[str, Any] = {"half_containers": 20, "container_ml": 10_000}  # 100 litres


def weigh(keep: Any, at: Any, times: int) -> None:
    for _ in range(times):
        keep("weighing", None, at(5, 3), feedstock="peelings", container_ml=10_000, full_g=5_000, empty_g=1_000)


@pytest.fixture
def season(keep, bay: Bay, bucket, at) -> None:
    """Two cubic metres of peelings in buckets, a little hay, and much that was weighed."""
    for _ in range(20):
        keep("dropoff", bay, at(5, 1), feedstock="peelings", container=str(bucket.uid), **A_LOAD)
    keep("dropoff", bay, at(5, 1), feedstock="hay", **A_LOAD)
    keep("dropoff", bay, at(5, 1), feedstock="seaweed", weighed_g=900_000, **A_LOAD)
    keep("dropoff", bay, at(5, 1).replace(year=2025), feedstock="seaweed", **A_LOAD)


def test_it_is_what_came_in_by_eye_in_that_time_and_is_known_worst(season, bucket) -> None:
    found = next_to_weigh(*YEAR, weighings())
    assert found is not None
    assert found.stuff.key == "peelings" and found.container == "bucket" and found.weighed == 0
    hay_g = 100 * (FEEDSTOCKS["hay"].density_kg_m3 or 0)
    assert found.estimated_g == 2_000 * 425 + hay_g  # neither the scales nor the year before
    assert 0.6 < found.takes_off < 1 and not found.enough
    # by hand: the fullness of 850 kg and hay, and the peelings' ln(940 / 235) between 95 of 100
    total, spread = found.estimated_g / 1000, 1.3863 / 3.92
    assert found.off_g / 1000 == pytest.approx(1.2816 * ((0.15 * total) ** 2 + (spread * 850) ** 2) ** 0.5, rel=0.01)


def test_before_that_it_was_seaweed(season) -> None:
    found = next_to_weigh(date(2025, 1, 1), date(2026, 1, 1), weighings())
    assert found is not None and found.stuff.key == "seaweed" and found.container == ""


def test_once_ten_are_weighed_their_mean_is_to_be_taken_and_then_it_is_another(season, keep, at) -> None:
    weigh(keep, at, 9)
    nine = next_to_weigh(*YEAR, weighings())
    assert nine is not None and nine.weighed == 9 and not nine.enough
    weigh(keep, at, 1)
    ten = next_to_weigh(*YEAR, weighings())
    assert ten is not None and ten.enough
    OwnValue.objects.create(feedstock="peelings", figure="density", number=400, decided_at=at(5, 4))
    known = next_to_weigh(*YEAR, weighings())
    assert known is not None and known.off_g < ten.off_g


def test_nothing_by_eye_is_nothing_to_weigh(keep, bay, at) -> None:
    assert next_to_weigh(*YEAR, {}) is None
    keep("dropoff", bay, at(5, 1), feedstock="peelings", weighed_g=900_000, **A_LOAD)
    assert next_to_weigh(*YEAR, {}) is None


def test_a_handful_by_eye_is_nothing_to_weigh(keep, bay, at, client_of, treasurer) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="peelings", half_containers=2, container_ml=100)
    assert next_to_weigh(*YEAR, {}) is None
    assert "Weigh ten" not in shown(client_of(treasurer), "heaps:year", 2026)


def shown(client: Any, name: str, *args: object) -> str:
    return unescape(client.get(reverse(name, args=args)).content.decode())


def test_the_year_says_how_sure_it_is(client_of, treasurer, coordinator, season, keep, at) -> None:
    page = shown(client_of(treasurer), "heaps:year", 2026)
    assert "Weigh ten full loads of Vegetable peelings." in page and "They mostly come in: bucket." in page
    assert "That takes away more than half of the doubt." in page
    assert "came in that nobody weighed" in page
    weigh(keep, at, 10)
    assert "You have weighed Vegetable peelings 10 times." in shown(client_of(treasurer), "heaps:year", 2026)
    assert reverse("heaps:material", args=["peelings"]) in shown(client_of(coordinator), "heaps:year", 2026)
    assert "How sure the kilograms are" not in shown(client_of(treasurer), "heaps:year", 2024)
