"""Every row of the database, to see that nothing changed, or what did."""

import hashlib
import json
import re
from collections.abc import Collection
from typing import Any

from django.apps import apps
from django.db.models import Model

from members.models import Device, Session, Tries

#: What the server notes about visits whatever is asked.
BOOKKEEPING: tuple[type[Model], ...] = (Device, Session, Tries)
#: A uid, an own material's key, a hash, a moment as Python or JSON writes it, a salted password, the word of a way in.
CHANCE = re.compile(
    r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}|\bown-[0-9a-f]{12}\b|\b[0-9a-f]{64}\b"
    r"|\d{4}-\d\d-\d\d[T ][\d:.]+(\+00:00|Z)?|\b(md5|pbkdf2_sha256)\$[^\"]+"
    r'|"first_word": "[a-z]+"'
)


def every_row(without: Collection[type[Model]] = ()) -> dict[str, list[dict[str, Any]]]:
    """The rows of each table."""
    models = [model for model in apps.get_models() if model not in without]
    return {model._meta.label: list(model._default_manager.order_by("pk").values()) for model in models}


def digest_of_rows(without: Collection[type[Model]] = ()) -> str:
    """A digest of every row there is."""
    return hashlib.sha256(json.dumps(every_row(without), default=str).encode()).hexdigest()


def but_for_chance(found: dict[str, list[dict[str, Any]]]) -> str:
    """Rows without what differs from one time to the next: numbers drawn by chance, moments, hashes, passwords.

    A row's number becomes its place in its table, there and wherever it is pointed at: PostgreSQL counts on after a
    rollback.
    """
    models = {model._meta.label: model for model in apps.get_models()}
    places = {
        label: {row[models[label]._meta.pk.attname]: place for place, row in enumerate(rows)}
        for label, rows in found.items()
    }
    for label, rows in found.items():
        for field in models[label]._meta.concrete_fields:
            there = places.get(field.related_model._meta.label if field.is_relation else label, {})
            if field.is_relation or field.primary_key:
                rows = [row | {field.attname: there.get(row[field.attname], row[field.attname])} for row in rows]
        found = found | {label: rows}
    return CHANCE.sub("?", json.dumps(found, default=str, indent=1))
