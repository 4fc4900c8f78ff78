"""Standing on another database for a while: all that asks the default one asks that one instead."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.contrib.contenttypes.models import ContentType
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import NO_DB_ALIAS
from django.db.utils import load_backend

Database = dict[str, Any]  # as in settings.DATABASES, complete


@contextmanager
def standing_on(database: Database) -> Iterator[None]:
    """Inside, the models and commands of this thread meet `database` and no other."""
    before = connections[DEFAULT_DB_ALIAS]
    there = load_backend(database["ENGINE"]).DatabaseWrapper(database, DEFAULT_DB_ALIAS)
    connections[DEFAULT_DB_ALIAS] = there
    ContentType.objects.clear_cache()
    try:
        yield
    finally:
        there.close()
        connections[DEFAULT_DB_ALIAS] = before
        ContentType.objects.clear_cache()


@contextmanager
def beside(alias: str, database: Database) -> Iterator[str]:
    """Inside, `database` can be read under `alias` (`Model.objects.using(alias)`)."""
    connections[alias] = load_backend(database["ENGINE"]).DatabaseWrapper(database, NO_DB_ALIAS)
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]


def live() -> Database:
    """The database that this installation works with."""
    return connections[DEFAULT_DB_ALIAS].settings_dict
