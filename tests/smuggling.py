"""Values for every field that any model has, to be smuggled into forms that do not ask for them."""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import models

#: Values for fields that no form has, so odd that they are found again wherever they went.
MARKS = {
    "uid": "11111111-1111-4111-8111-111111111111",
    "day": "1999-12-31",
    "moment": "1999-12-31T23:59:58Z",
    "text": "smuggled",
}


def every_field() -> dict[str, str]:
    """A value for every field that any model has, by its name."""
    found = {}
    for model in apps.get_models():
        for one in model._meta.concrete_fields:
            found[one.name] = found[one.attname] = odd_value(one)
    return found


def odd_value(one: Any) -> str:
    """Something that the field would take."""
    kinds: Iterator[tuple[Any, str]] = iter(
        [
            (models.ForeignKey, "1"),
            (models.UUIDField, MARKS["uid"]),
            (models.DateTimeField, MARKS["moment"]),
            (models.DateField, MARKS["day"]),
            (models.BooleanField, "on"),
            (models.IntegerField, "7"),
        ]
    )
    return next((value for kind, value in kinds if isinstance(one, kind)), MARKS["text"])
