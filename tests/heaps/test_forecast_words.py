"""Forecasts in words: months and never a day, whole bags, and a word for whatever the core may say."""

from datetime import date

import pytest

from heaps.forecast_words import (
    MEASURE,
    SET_ASIDE,
    TURNED,
    WHY_WIDE,
    bags_words,
    ready_words,
    some_bags,
    sooner_words,
)
from heaps.science.living.foresight import Doubt, Measure, Month, Months, Range, When
from heaps.science.living.readings import Why

TODAY = date(2027, 3, 9)
MARCH, MAY, OCTOBER = Month(2027, 3), Month(2027, 5), Month(2027, 10)


@pytest.mark.parametrize(
    "ready, words",
    [
        (Months(MAY, OCTOBER), "Between May 2027 and October 2027."),
        (Months(MAY, MAY), "In May 2027."),
        (Months(MAY, None), "Not before May 2027. How much later, nobody can tell yet."),
        (Months(MARCH, OCTOBER), "Perhaps now, perhaps not before October 2027: test it."),
        (Months(MARCH, None), "Perhaps now, perhaps much later: test it."),
        (Months(MARCH, MARCH), "May be ready now: test it."),
        (Months(Month(2026, 11), OCTOBER), "Perhaps now, perhaps not before October 2027: test it."),
        (Months(Month(2026, 11), Month(2027, 1)), "May be ready now: test it."),
    ],
)
def test_months_that_have_passed_are_not_named(ready: Months, words: str) -> None:
    assert ready_words(ready, TODAY) == words


def test_bags_are_whole_ones() -> None:
    assert bags_words(Range(4.4, 6, 8.6), 40) == "4 to 9 bags of 40 litres."
    assert bags_words(Range(0.2, 0.8, 1.4), 40) == "Up to 1 bag of 40 litres."
    assert bags_words(Range(0.1, 0.2, 0.3), 40) == "Up to 1 bag of 40 litres."
    assert bags_words(Range(2.9, 3, 3.1), 30) == "About 3 bags of 30 litres."
    assert [some_bags(number) for number in (0.2, 1.2, 7.6)] == ["about 1 bag", "about 1 bag", "about 8 bags"]


def test_weeks_are_whole_ones_in_either_direction() -> None:
    assert sooner_words(2.6) == "about 3 weeks sooner" and sooner_words(-1.2) == "about 1 week later"
    assert sooner_words(0.4) == sooner_words(-0.4) == "the month stays much the same"


def test_there_is_a_word_for_whatever_the_core_may_say() -> None:
    for words, said in ((WHY_WIDE, Doubt), (SET_ASIDE, Why), (MEASURE, Measure), (TURNED, When)):
        assert set(words) == set(said) and len({str(one) for one in words.values()}) == len(said)
