"""The usual year: its mean, its ends, and that it comes round."""

from datetime import date, timedelta

import pytest

from heaps.science.climate import UK_LOWLAND, air_temp_c, climate_from_csv, evaporation_mm


def test_mean_over_a_year_is_the_stated_mean() -> None:
    days = [date(2025, 1, 1) + timedelta(days=day) for day in range(365)]
    assert sum(map(air_temp_c, days)) / 365 == pytest.approx(10.3, abs=0.02)


def test_warmest_late_in_july_and_coldest_late_in_january() -> None:
    days = [date(2025, 1, 1) + timedelta(days=day) for day in range(365)]
    assert max(days, key=air_temp_c) == date(2025, 7, 25)
    assert min(days, key=air_temp_c).month == 1
    assert air_temp_c(date(2025, 7, 25)) == pytest.approx(16.6)
    assert min(map(air_temp_c, days)) == pytest.approx(4.0, abs=0.01)


def test_new_year_brings_no_jump() -> None:
    assert air_temp_c(date(2024, 12, 31)) == pytest.approx(air_temp_c(date(2025, 1, 1)), abs=0.15)


def test_the_usual_year_between_the_months_is_near_the_sine_it_comes_from() -> None:
    for number in range(0, 365, 9):
        day = date(2027, 1, 1) + timedelta(days=number)
        air_c, rain_mm = UK_LOWLAND.on(day)
        assert abs(air_c - air_temp_c(day)) < 0.4
        assert rain_mm == pytest.approx(1.9)
    assert evaporation_mm(-3) == 0 < evaporation_mm(4) < evaporation_mm(16)


TABLE = "month,air_c,rain_mm\n" + "\n".join(f"{month},{month},{31 if month == 1 else 0}" for month in range(1, 13))


def test_a_climate_of_one_s_own() -> None:
    own = climate_from_csv(TABLE, "our station")
    assert own.on(date(2027, 1, 15)) == (1.0, 1.0)
    assert own.on(date(2027, 12, 31))[0] == pytest.approx(12 - 11 * 16 / 31)  # half way back from December to January
    assert own.source == "our station"


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (TABLE.replace("month,", "months,"), "first line"),
        (TABLE.replace("\n7,7,0", ""), "Month 7"),
        (TABLE.replace("\n7,7,0", "\n6,7,0"), "Line 8"),
        (TABLE.replace("\n7,7,0", "\n7,warm,0"), "Line 8"),
        (TABLE.replace("\n7,7,0", "\n7,70,0"), "Line 8"),
        (TABLE.replace("\n7,7,0", "\n7"), "Line 8"),
        ("", "first line"),
    ],
)
def test_a_climate_that_cannot_be_read_says_which_line(broken: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        climate_from_csv(broken, "ours")
