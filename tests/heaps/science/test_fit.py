"""Will it fit: volumes just after forking, and as they sink."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.science.fit import FLUFFED, READ, RECKONED, Fits, Lying, will_it_fit

VECTORS = json.loads((Path(__file__).parents[2] / "vectors" / "fit.json").read_text(encoding="utf-8"))

lying = st.builds(Lying, st.floats(0, 5_000), st.floats(0, 1), st.booleans())


@pytest.mark.parametrize(
    ("volume_l", "bay_l", "fits"),
    [
        (1_000, 1_375, Fits.YES),  # 1,000 x 1.1 x 1.25
        (1_000, 1_374, Fits.HEAPED),
        (1_000, 1_250, Fits.HEAPED),
        (1_000, 1_249, Fits.PERHAPS),
        (1_000, 981.1, Fits.PERHAPS),  # 1,000 x 0.9 x 1.09
        (1_000, 980, Fits.NO),
    ],
)
def test_against_the_bay_at_each_bound(volume_l: float, bay_l: float, fits: Fits) -> None:
    assert will_it_fit([Lying(volume_l)], bay_l).fits is fits


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_as_phones_reckon_it(case: dict[str, Any]) -> None:
    stays = Lying(**case["stays"]) if case["stays"] else None
    assert will_it_fit([Lying(**one) for one in case["moved"]], case["bay_l"], stays).fits == case["expect"]


def test_two_half_year_bays_into_one_equal_bay_stand_heaped_on_the_day_and_fit_in_a_month() -> None:
    """The worked case of two 1.2 m3 bays: 0.51 and 0.83 m3 are a heaped 1.52 on the day and 1.08 after 30 days."""
    fit = will_it_fit([Lying(510), Lying(830)], 1_200)
    assert fit.fits is Fits.NO
    assert fit.forked.least_l <= 1_520 <= fit.forked.most_l
    assert fit.after_month.least_l <= 1_080 <= fit.after_month.most_l
    assert fit.over_l == pytest.approx(1_340 * 1.1 * 1.25 - 1_200)


def test_what_lies_there_already_is_not_fluffed() -> None:
    fit = will_it_fit([], 1_000, lies_there=Lying(500))
    assert fit.forked == fit.now == fit.after_month


def test_a_reckoned_fill_is_less_sure_than_a_read_one() -> None:
    read, reckoned = will_it_fit([Lying(1_000)], 1_500), will_it_fit([Lying(1_000, marked=False)], 1_500)
    assert read.now.most_l == 1_000 * (1 + READ) and reckoned.now.most_l == 1_000 * (1 + RECKONED)


@given(st.lists(lying, max_size=3), st.floats(1, 5_000))
def test_forking_makes_more_and_time_less(moved: list[Lying], bay_l: float) -> None:
    fit = will_it_fit(moved, bay_l)
    assert fit.now.most_l * FLUFFED[0] - 1e-6 <= fit.forked.most_l
    for span in (fit.now, fit.forked, fit.after_week, fit.after_month):
        assert span.least_l <= span.most_l
    assert fit.after_month.most_l <= fit.after_week.most_l <= fit.forked.most_l + 1e-9
