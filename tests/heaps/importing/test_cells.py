"""What people write in cells, against pint's own factors and a table of what must be refused."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from heaps.importing import cells
from heaps.importing.cells import CM, HALVES, KG, LITRES, SHARE, TEMP_C, Measure
from heaps.importing.reasons import BadCell

MANY = 10**9


@pytest.mark.parametrize(
    ("text", "measure", "steps"),
    [
        ("20", LITRES, 20_000),
        ("12,5", LITRES, 12_500),
        ("12.5", LITRES, 12_500),
        ("0,125", LITRES, 125),
        ("20 gal", LITRES, 90_922),  # 4.54609 litres, UK Units of Measurement Regulations 1995
        ("20 us gal", LITRES, 75_708),  # 3.785411784 litres, US NIST Handbook 44
        ("1 m³", LITRES, 1_000_000),
        ("500 ml", LITRES, 500),
        ("12 lb", KG, 5_443),  # 0.45359237 kg, the international pound of 1959
        ("2 stone", KG, 12_701),  # 14 pounds each
        ("0.75 t", KG, 750_000),
        ("60 F", TEMP_C, 156),  # 15.56 C
        ("-4 °F", TEMP_C, -200),
        ("25.45", TEMP_C, 254),  # half to even
        ("25.55", TEMP_C, 256),
        ("−3,2 °C", TEMP_C, -32),
        ("1,200", TEMP_C, 12),  # no heap has a thousand degrees
        ("8 in", CM, 20),
        ("½", HALVES, 1),
        ("1½", HALVES, 3),
        ("1.5", HALVES, 3),
        ("40 %", SHARE, 40),
    ],
)
def test_a_written_quantity_in_whole_steps(text: str, measure: Measure, steps: int) -> None:
    assert cells.whole(text, measure, -MANY, MANY) == steps


@pytest.mark.parametrize(
    ("text", "measure", "reason"),
    [
        ("NaN", LITRES, "not a number"),
        ("a few", LITRES, "not a number"),
        ("1e3", LITRES, "unit e3 is not known"),
        ("٣", LITRES, "not a number"),
        ("1,200", LITRES, "two ways"),
        ("1,200 l", LITRES, "two ways"),
        ("1.200,5", LITRES, "more than one mark"),
        ("5 parsec", LITRES, "unit parsec"),
        ("5 kg", LITRES, "unit kg"),
        ("1.25", HALVES, "too fine"),
        ("33.3", SHARE, "too fine"),
        ("6000", LITRES, "from -5 to 5000"),
        ("9" * 16, LITRES, "far too long"),
    ],
)
def test_a_quantity_that_cannot_be_taken(text: str, measure: Measure, reason: str) -> None:
    with pytest.raises(BadCell, match=reason):
        cells.whole(text, measure, -5_000, 5_000_000)


def test_a_point_may_part_thousands_only_where_commas_are_decimal() -> None:
    assert cells.whole("1.200", LITRES, 0, MANY) == 1_200
    with pytest.raises(BadCell, match="two ways"):
        cells.whole("1.200", LITRES, 0, MANY, decimal_commas=True)


@pytest.mark.parametrize("text", ["2024-05-03", "3/5/2024", "03/05/2024", "3.5.2024", "3-5-2024"])
def test_days_with_the_day_first(text: str) -> None:
    assert cells.day(text) == date(2024, 5, 3)


@pytest.mark.parametrize("text", ["30/2/2024", "2024-13-01", "5/2024", "3/5/24", "", "3/5-2024", "20240503"])
def test_no_such_day(text: str) -> None:
    with pytest.raises(BadCell):
        cells.day(text)


@pytest.mark.parametrize("text", ["25:00", "14", "noon", "", "14:60"])
def test_no_such_time(text: str) -> None:
    with pytest.raises(BadCell):
        cells.clock(text)


def test_clocks_that_change() -> None:
    london = ZoneInfo("Europe/London")
    first = cells.moment(date(2024, 10, 27), time(1, 30), london)
    assert first == datetime(2024, 10, 27, 0, 30, tzinfo=UTC)
    assert cells.moment(date(2024, 10, 27), time(1, 30), london, after=first) == datetime(
        2024, 10, 27, 1, 30, tzinfo=UTC
    )
    skipped = cells.moment(date(2024, 3, 31), time(1, 30), london)
    assert skipped.astimezone(london).time() == time(2, 30)


def test_one_number_written_in_several_ways() -> None:
    assert len({cells.same_number(text) for text in ("1.5", "1,50", " 1.500", "1½")}) == 1
    assert cells.same_number("1.5 kg") != cells.same_number("1.5")
