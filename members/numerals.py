"""Numbers as the reader's language writes them: its own decimal sign, and thousands apart. `EitherComma` reads them."""

from decimal import Decimal
from fractions import Fraction

from django.utils.formats import number_format
from django.utils.functional import lazy

Number = int | float | Decimal | Fraction


def rounded(number: Number, places: int = 0) -> str:
    """With so many places."""
    return _written(Decimal(f"{float(number):.{places}f}"))


def significant(number: Number, digits: int = 3) -> str:
    """With so many digits that count, and no zeros after them behind the decimal sign."""
    return _written(Decimal(f"{float(number):.{digits}g}"))


def exact(number: int, divisor: int, places: int | None = None) -> str:
    """A whole number of small units in large ones, nothing rounded: by powers of ten. `places` keeps zeros."""
    whole = Decimal(number) / divisor
    return _written(whole.normalize() if places is None else whole.quantize(Decimal(10) ** -places))


def halves(number: int) -> str:
    """Halves as 3 or 2½."""
    whole, half = divmod(number, 2)
    return f"{rounded(whole) if whole or not half else ''}{'½' if half else ''}"


def _written(number: Decimal) -> str:
    return number_format(number + 0, force_grouping=True)  # nothing is -0


#: For texts that are made before anybody reads them.
rounded_when_read = lazy(rounded, str)
significant_when_read = lazy(significant, str)
