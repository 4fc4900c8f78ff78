"""The usual year: its mean, its ends, and that it comes round."""

from datetime import date, timedelta

import pytest

from heaps.science.climate import air_temp_c


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
