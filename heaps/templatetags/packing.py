"""What a page hands to its scripts, in as few bytes as it takes: phones fetch it where there is hardly a signal."""

from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

from django import template
from django.contrib.staticfiles import finders
from django.core.serializers.json import DjangoJSONEncoder
from django.utils.html import json_script

register = template.Library()


class Packed(DjangoJSONEncoder):
    """JSON without blanks."""

    item_separator, key_separator = ",", ":"


@register.filter
def packed_json(value: Any, name: str) -> str:
    """As Django's `json_script`."""
    return json_script(value, name, Packed)


@register.simple_tag
@lru_cache
def icon_inside(name: str) -> str:
    """A small picture as an address of its own: fetched apart, the headers of the answer weigh more than it."""
    drawn = Path(str(finders.find(name))).read_text(encoding="utf-8").strip().replace('"', "'")
    return f"data:image/svg+xml,{quote(drawn, safe=' :/=.')}"
