"""Numbers and days as charts of what was reckoned show them: whole, and short."""

from datetime import date

from django import template
from django.utils.formats import date_format

from members.numerals import rounded

register = template.Library()


@register.filter
def whole_degrees(degrees_c: float) -> str:
    """A temperature, where there is no room for the unit."""
    return f"{rounded(degrees_c)}°"


@register.filter
def short_month(on: date) -> str:
    """A month and its year."""
    return date_format(on, "M Y")
