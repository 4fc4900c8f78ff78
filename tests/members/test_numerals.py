"""Numbers as a language writes them."""

from decimal import Decimal
from fractions import Fraction

import pytest
from django.utils.translation import override

from members.numerals import exact, halves, rounded, rounded_when_read, significant

LATER = rounded_when_read(20_000)


@pytest.mark.parametrize(
    ("said", "english", "german"),
    [
        (lambda: rounded(1234.5), "1,234", "1.234"),
        (lambda: rounded(-0.04), "0", "0"),
        (lambda: rounded(-0.04, 1), "0.0", "0,0"),
        (lambda: rounded(Fraction(12345, 10), 1), "1,234.5", "1.234,5"),
        (lambda: rounded(Decimal("0.25"), 1), "0.2", "0,2"),
        (lambda: significant(1310.4), "1,310", "1.310"),  # no 1.31e+03
        (lambda: significant(0.00003129), "0.0000313", "0,0000313"),
        (lambda: significant(2.50), "2.5", "2,5"),
        (lambda: exact(8_526_889, 1000, places=3), "8,526.889", "8.526,889"),
        (lambda: exact(548_800, 1000, places=3), "548.800", "548,800"),
        (lambda: exact(-5_250, 1000, places=3), "-5.250", "-5,250"),
        (lambda: exact(12_345_678, 1000), "12,345.678", "12.345,678"),
        (lambda: exact(20_000, 10), "2,000", "2.000"),
        (lambda: halves(1), "½", "½"),
        (lambda: halves(0), "0", "0"),
        (lambda: halves(2_001), "1,000½", "1.000½"),
        (lambda: LATER, "20,000", "20.000"),
    ],
)
def test_a_number_is_written_as_the_reader_writes_it(said, english: str, german: str) -> None:
    with override("en-gb"):
        assert str(said()) == english
    with override("de"):
        assert str(said()) == german
