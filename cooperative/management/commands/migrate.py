"""`manage.py migrate`, so that a migration is in and noted, or neither, whenever the machine goes down.

Django notes a migration that adds indexes only after its tables are committed (`MigrationExecutor.apply_migration`,
`deferred_sql`). A kill between the two leaves tables that the next `migrate` cannot make a second time.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.management.commands import migrate
from django.db import transaction
from django.db.migrations.executor import MigrationExecutor


class WholeMigrations(MigrationExecutor):
    """Applies each migration, and notes it, in one transaction."""

    def apply_migration(self, state: Any, migration: Any, *args: Any, **named: Any) -> Any:
        with _one_transaction(self.connection):
            return super().apply_migration(state, migration, *args, **named)


class Command(migrate.Command):
    """Django's own, with these."""


@contextmanager
def _one_transaction(connection: Any) -> Iterator[None]:
    """SQLite changes tables only while it does not check keys, and takes that word only before a transaction."""
    on_sqlite = connection.vendor == "sqlite"
    if on_sqlite:
        connection.disable_constraint_checking()
    try:
        with transaction.atomic(using=connection.alias):
            yield
    finally:
        if on_sqlite:
            connection.enable_constraint_checking()


vars(migrate)["MigrationExecutor"] = WholeMigrations  # where the command looks for it
