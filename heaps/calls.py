"""What a site asks everybody for, until a day; and the words it is sent on with."""

from collections.abc import Iterable
from datetime import date, timedelta

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from heaps.models import Call

SATURDAY = 5


def open_calls(calls: Iterable[Call], today: date) -> list[Call]:
    """Those whose day is not over."""
    return [call for call in calls if call.until >= today]


def in_words(call: Call) -> str:
    """A call with its day."""
    return _("%(says)s By %(day)s.") % {"says": call.says, "day": date_format(call.until, "l j F")}


def to_send(call: Call, address: str) -> str:
    """A call as it is sent on, with the page for everybody."""
    return f"{in_words(call)} {_('What we take:')} {address}"


def next_saturday(today: date) -> date:
    """The Saturday that comes: today is too short a notice."""
    return today + timedelta(days=(SATURDAY - today.weekday() - 1) % 7 + 1)
