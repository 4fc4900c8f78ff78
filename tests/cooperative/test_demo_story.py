"""What the demo tells: seasons and temperatures as they are in life, the same each time, on any day of the year."""

from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest

from cooperative.demo import story
from cooperative.demo.diary import Said
from cooperative.demo.people import SCHOOL

NOW = datetime(2026, 11, 26, 15, tzinfo=UTC)


@pytest.fixture(scope="module")
def told() -> list[Said]:
    return story.told(NOW)


def test_the_seasons_can_be_seen(told: list[Said]) -> None:
    loads: Counter[tuple[str, int]] = Counter(
        (one.details["feedstock"], one.at.month) for one in told if one.kind == "dropoff"
    )
    assert loads["grass-fresh", 7] > 10 and not loads["grass-fresh", 12] and not loads["grass-fresh", 1]
    assert loads["leaves-oak", 11] > 5 and not loads["leaves-oak", 6]
    at_school = Counter(one.at.month for one in told if one.kind == "dropoff" and one.site == SCHOOL)
    assert at_school[8] < at_school[6] / 3


def test_the_warmest_heaps_are_as_warm_as_published_ones(told: list[Said]) -> None:
    """40 to 60 C when well made (COR-PHYS); under 65, above which one is to be turned."""
    readings = [one.details for one in told if one.kind == "reading"]
    tenths = [one["temp_tenths_c"] for one in readings if "temp_tenths_c" in one]
    assert 450 < max(tenths) < 650 and min(tenths) > 0


def test_it_is_the_same_each_time_but_for_the_dates(told: list[Said]) -> None:
    assert story.told(NOW) == told
    a_week_on = story.told(NOW + timedelta(weeks=1))
    assert [one.uid for one in a_week_on[:20]] == [one.uid for one in told[:20]]


@pytest.mark.parametrize(
    "moment", [datetime(2027, month, 1 + 2 * month, 9, tzinfo=UTC) for month in range(1, 13)], ids=str
)
def test_any_day_of_the_year_will_do(moment: datetime) -> None:
    """In time, into open bays only, and two whole years."""
    said = story.told(moment)
    assert all(one.at <= moment for one in said)
    assert len(said) > 4_000 and moment - said[0].at > timedelta(weeks=52 * 2 + 8)
    closed: set[tuple[str, str | None]] = set()
    into_closed = []
    for one in said:
        bay = (one.site, one.bay)
        if one.kind == "close":
            closed.add(bay)
        elif one.kind in ("reopen", "tip_out") or (one.kind == "harvest" and one.details["per_cent"] == 100):
            closed.discard(bay)
        elif one.kind == "turn":
            moved = [(one.site, source) for source in one.details["sources"] if source != one.bay]
            closed = closed - set(moved) | ({bay} if moved else set())
        elif one.kind == "dropoff" and bay in closed:
            into_closed.append(one)
    assert len(into_closed) == 1  # the one for the tray
