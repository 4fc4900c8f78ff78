"""The usual year: its means, its ends, that it comes round, and one of a site's own."""

from datetime import date, timedelta

import pytest

from heaps.science.climate import (
    UK_LOWLAND,
    UK_MONTHS,
    UK_SOURCE,
    Climate,
    Fault,
    Faulty,
    Why,
    air_temp_c,
    evaporation_mm,
    months_from_csv,
)
from heaps.science.feedstocks import SOURCES

YEAR = [date(2027, 1, 1) + timedelta(days=day) for day in range(365)]


def test_the_published_year_has_its_source_and_its_means() -> None:
    assert "historic station data" in SOURCES[UK_SOURCE].citation and UK_LOWLAND.source == UK_SOURCE
    assert sum(map(air_temp_c, YEAR)) / 365 == pytest.approx(10.5, abs=0.05)
    assert sum(UK_LOWLAND.on(day)[1] for day in YEAR) == pytest.approx(sum(rain for _, rain in UK_MONTHS), rel=0.01)
    assert sum(rain for _, rain in UK_MONTHS) == 641  # 642 before each month was rounded


def test_warmest_in_july_and_coldest_in_january() -> None:
    assert max(YEAR, key=air_temp_c).month == 7 and min(YEAR, key=air_temp_c).month == 1
    assert air_temp_c(date(2027, 7, 15)) == 17.2 and air_temp_c(date(2027, 1, 15)) == 4.9


def test_neither_a_month_nor_new_year_brings_a_jump() -> None:
    for before, after in zip(YEAR, [*YEAR[1:], date(2028, 1, 1)], strict=True):
        assert abs(UK_LOWLAND.on(after)[0] - UK_LOWLAND.on(before)[0]) < 0.15
        assert abs(UK_LOWLAND.on(after)[1] - UK_LOWLAND.on(before)[1]) < 0.03


def test_nothing_evaporates_in_frost() -> None:
    assert evaporation_mm(-3) == 0 < evaporation_mm(4) < evaporation_mm(16)


LINES = [f"{month},{month},{31 if month == 1 else 0}" for month in range(1, 13)]
TABLE = "\n".join(["month,air_c,rain_mm", *LINES])


def test_a_climate_of_one_s_own() -> None:
    own = Climate.of_months(months_from_csv(TABLE), "our station")
    assert own.on(date(2027, 1, 15)) == (1.0, 1.0)
    assert own.on(date(2027, 12, 31))[0] == pytest.approx(12 - 11 * 16 / 31)  # half way back from December to January
    assert own.source == "our station"


@pytest.mark.parametrize(
    "written",
    [
        "\ufeff" + TABLE.upper(),
        TABLE.replace(",", ";").replace("7;7;0", "7;7,0;0"),
        TABLE.replace(",", "\t"),
        "\r\n".join(["month,air_c,rain_mm", "", *LINES[::-1], ""]),
        TABLE.replace("7,7,0", '"7" , 7.0,0'),
    ],
)
def test_a_table_may_be_written_in_more_than_one_way(written: str) -> None:
    assert months_from_csv(written) == months_from_csv(TABLE)
    assert months_from_csv(TABLE)[6] == (7.0, 0.0)


@pytest.mark.parametrize(
    ("broken", "faults"),
    [
        ("", [Fault(Why.HEAD)]),
        (TABLE.replace("month,", "months,"), [Fault(Why.HEAD)]),
        (TABLE.replace("\n7,7,0", ""), [Fault(Why.MISSING, month=7)]),
        (TABLE.replace("\n7,7,0", "\n6,7,0"), [Fault(Why.TWICE, 8, 6), Fault(Why.MISSING, month=7)]),
        (TABLE + "\n6,6,0", [Fault(Why.TWICE, 14, 6)]),
        (TABLE.replace("\n7,7,0", "\n7,warm,0"), [Fault(Why.AIR, 8, 7)]),
        (TABLE.replace("\n7,7,0", "\n7,70,0"), [Fault(Why.AIR, 8, 7)]),
        (TABLE.replace("\n7,7,0", "\n7,nan,0"), [Fault(Why.AIR, 8, 7)]),
        (TABLE.replace("\n7,7,0", "\n7,7,-1"), [Fault(Why.RAIN, 8, 7)]),
        (TABLE.replace("\n7,7,0", "\n7,7,inf"), [Fault(Why.RAIN, 8, 7)]),
        (TABLE.replace("\n7,7,0", "\n7"), [Fault(Why.CELLS, 8), Fault(Why.MISSING, month=7)]),
        (TABLE.replace("\n7,7,0", "\nJuly,7,0"), [Fault(Why.MONTH, 8), Fault(Why.MISSING, month=7)]),
        (TABLE.replace("7,7,0", "7,x,0").replace("9,9,0", "9,9,x"), [Fault(Why.AIR, 8, 7), Fault(Why.RAIN, 10, 9)]),
    ],
)
def test_all_that_is_wrong_with_a_table_is_said_with_its_line(broken: str, faults: list[Fault]) -> None:
    with pytest.raises(Faulty) as caught:
        months_from_csv(broken)
    assert list(caught.value.faults) == faults


def test_the_published_year_as_a_table_is_the_published_year() -> None:
    rows = [["month", "air_c", "rain_mm"], *([number, *month] for number, month in enumerate(UK_MONTHS, 1))]
    assert months_from_csv("\n".join(",".join(map(str, row)) for row in rows)) == UK_MONTHS
