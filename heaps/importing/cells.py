"""What people write in a cell, as a number, a day, a time or a moment. Nothing here knows a database."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cache
from zoneinfo import ZoneInfo

import pint

from heaps.importing.reasons import BadCell

NUMBER = re.compile(r"([+-]?(?:\d[\d.,]*|[.,]\d+))\s*(.*)", re.ASCII)
THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}", re.ASCII)
DAY_FIRST = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4})", re.ASCII)
CLOCK = re.compile(r"(\d{1,2})[:.](\d{2})(?:[:.](\d{2})(?:\.\d+)?)?", re.ASCII)
NOON = time(12)


@dataclass(frozen=True)
class Measure:
    """What a column holds: the unit meant when none is written, the units that may be written behind a number,
    and how many whole steps of the ledger make one unit."""

    unit: str
    steps: int
    also: Mapping[str, str] = field(default_factory=dict)
    parts: bool = True  # anything between two steps is rounded; otherwise it is refused
    large: bool = True  # thousands are likely, so that 1,200 can be read in two ways


VOLUMES = {
    "l": "litre", "litre": "litre", "litres": "litre", "liter": "litre", "liters": "litre", "ml": "millilitre",
    "cl": "centilitre", "m3": "meter**3", "m³": "meter**3", "ft3": "foot**3", "cu ft": "foot**3",
    "yd3": "yard**3", "cu yd": "yard**3", "gal": "imperial_gallon", "gallon": "imperial_gallon",
    "gallons": "imperial_gallon", "imp gal": "imperial_gallon", "us gal": "gallon",
}  # fmt: skip
WEIGHTS = {
    "kg": "kilogram", "g": "gram", "t": "metric_ton", "lb": "pound", "lbs": "pound", "oz": "ounce",
    "st": "stone", "stone": "stone", "cwt": "UK_hundredweight",
}  # fmt: skip
TEMPERATURES = {"c": "degC", "°c": "degC", "°": "degC", "f": "degF", "°f": "degF"}
LENGTHS = {
    "cm": "centimeter", "mm": "millimeter", "m": "meter", "in": "inch", "inch": "inch", "inches": "inch",
    '"': "inch", "ft": "foot",
}  # fmt: skip
PER_CENT = {"%": "percent", "per cent": "percent", "percent": "percent"}

LITRES = Measure("litre", 1000, VOLUMES)
KG = Measure("kilogram", 1000, WEIGHTS)
TEMP_C = Measure("degC", 10, TEMPERATURES, large=False)
CM = Measure("centimeter", 1, LENGTHS, large=False)
SHARE = Measure("percent", 1, PER_CENT, parts=False, large=False)
HALVES = Measure("", 2, parts=False)


@cache
def units() -> pint.UnitRegistry[Decimal]:
    """The registry of units, made when the first cell carries one."""
    return pint.UnitRegistry(non_int_type=Decimal)


def whole(text: str, measure: Measure, least: int, most: int, decimal_commas: bool = False) -> int:
    """A written quantity in the ledger's whole steps, half to even, from `least` to `most` steps."""
    digits, unit = _parted(text)
    if measure.large and THOUSANDS.fullmatch(digits) and (decimal_commas or "," in digits):
        plain = re.sub("[.,]", "", digits)
        raise BadCell(
            "%(found)s can be read in two ways. Write %(plain)s, or two digits behind the point.",
            found=digits,
            plain=plain,
        )
    exact = _converted(_decimal(digits), unit, measure) * measure.steps
    steps = int(exact.to_integral_value(ROUND_HALF_EVEN))
    if steps != exact and not measure.parts:
        if measure.steps == 2:
            raise BadCell("%(found)s is too fine. Write whole and half numbers only.", found=text)
        raise BadCell("%(found)s is too fine. Write whole numbers only.", found=text)
    if not least <= steps <= most:
        low, high = Decimal(least) / measure.steps, Decimal(most) / measure.steps
        raise BadCell(
            "%(found)s is out of range. It can be from %(least)s to %(most)s.",
            found=text,
            least=f"{low.normalize():f}",
            most=f"{high.normalize():f}",
        )
    return steps


def same_number(text: str) -> str:
    """A number in one way of writing, so that 1,50 and 1.5 are known to be the same; anything else as it is."""
    try:
        digits, unit = _parted(text)
        return f"{_decimal(digits).normalize():f}{unit}"
    except BadCell:
        return text


def day(text: str) -> date:
    """A day written as 2024-05-31 or as 31/5/2024."""
    try:
        if found := DAY_FIRST.fullmatch(text):
            return date(int(found[4]), int(found[3]), int(found[1]))
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
            return date.fromisoformat(text)
    except ValueError:
        raise BadCell("There is no such day as %(found)s.", found=text) from None
    raise BadCell("%(found)s is not a day. Write 2024-05-31 or 31/5/2024.", found=text)


def clock(text: str) -> time:
    """A time of day written as 14:30 or 14:30:00."""
    found = CLOCK.fullmatch(text)
    try:
        if found:
            return time(int(found[1]), int(found[2]), int(found[3] or 0))
    except ValueError:
        pass
    raise BadCell("%(found)s is not a time of day. Write it like 14:30.", found=text)


def moment(on: date, at: time, zone: ZoneInfo, after: datetime | None = None) -> datetime:
    """A local day and time as UTC.

    A time that the clocks pass twice in autumn is the first of the two, unless that is not later than `after`;
    a time that they skip in spring is moved on by the hour that was skipped.
    """
    local = datetime.combine(on, at, zone)
    first, second = (local.replace(fold=fold).astimezone(UTC) for fold in (0, 1))
    return second if after and first <= after < second else first


def _parted(text: str) -> tuple[str, str]:
    """The digits and the unit behind them."""
    written = re.sub(r"(?<=\d)\s*½", ".5", text.strip()).replace("½", "0.5").replace("−", "-")
    if not (found := NUMBER.fullmatch(written)):
        raise BadCell("%(found)s is not a number.", found=text)
    return found[1], found[2].strip().rstrip(".").casefold()


def _decimal(digits: str) -> Decimal:
    if digits.count(",") + digits.count(".") > 1:
        raise BadCell("%(found)s has more than one mark in it. Write it like 1234.5.", found=digits)
    if len(digits) > 15:
        raise BadCell("%(found)s... is far too long for a number.", found=digits[:15])
    return Decimal(digits.replace(",", "."))


def _converted(value: Decimal, unit: str, measure: Measure) -> Decimal:
    if not unit:
        return value
    if unit not in measure.also:
        if not measure.also:
            raise BadCell("%(found)s cannot have a unit. Write the number only.", found=unit)
        known = ", ".join(sorted(measure.also))
        raise BadCell("The unit %(found)s is not known here. Known units: %(known)s.", found=unit, known=known)
    name = measure.also[unit]
    if name == measure.unit:
        return value
    turned: Decimal = units().Quantity(value, name).to(measure.unit).magnitude
    return turned
