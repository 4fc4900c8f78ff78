"""A receipt ends an entry's wait on the phone. A server therefore starts only on a database that keeps what it commits.

What counts is what a live connection says of itself, not what the settings ask for.
"""

import logging
import sqlite3
from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error
from django.core.exceptions import ImproperlyConfigured
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections

#: SQLite before this one can damage a database in WAL mode when two connections write at once (its release notes).
SOUND_WAL = (3, 51, 3)
FULL, EXTRA = 2, 3
#: `local`, `remote_write` and `remote_apply` wait for this machine's own disk, too (PostgreSQL, runtime-config-wal).
WAITS_FOR_THE_DISK = ("on", "local", "remote_write", "remote_apply")
POSTGRESQL = "SELECT name, setting FROM pg_settings WHERE name IN ('fsync', 'full_page_writes', 'synchronous_commit')"
_serving = {"asked": False, "sound": False}


class TooWeak(ImproperlyConfigured):
    """The database may lose what it has said is kept."""


def serve() -> None:
    """From now on this process gives receipts. Raises TooWeak; a database that is not there yet is looked at later."""
    _serving.update(asked=True, sound=False)
    connection = connections[DEFAULT_DB_ALIAS]
    try:
        connection.ensure_connection()
    except DatabaseError:
        logging.getLogger(__name__).warning("The database does not answer yet.")
    finally:
        connection.close()  # a server may fork after this, and no connection outlives that


def look(connection: Any, **_said: Any) -> None:
    """A connection was opened: look at the first one of a process that serves. Raises TooWeak."""
    if not _serving["asked"] or _serving["sound"] or connection.alias != DEFAULT_DB_ALIAS:
        return
    if found := [] if settings.WEAK_DATABASE_FOR_TESTS else weaknesses(connection):
        connection.close()
        raise TooWeak(
            "\n".join(
                ["This database may lose entries after a phone was told that they are sent. It must not:", *found]
            )
        )
    _serving["sound"] = True


def check(databases: Sequence[str] | None = None, **_said: Any) -> list[CheckMessage]:
    """The same for `manage.py check --database default`, and before each `migrate`."""
    if DEFAULT_DB_ALIAS not in (databases or ()) or settings.WEAK_DATABASE_FOR_TESTS:
        return []
    connection = connections[DEFAULT_DB_ALIAS]
    connection.ensure_connection()
    return [Error(said, id="heaps.E001") for said in weaknesses(connection)]


def weaknesses(connection: Any) -> list[str]:
    """Where a live connection is weaker than a receipt promises, each with what to set."""
    return _of_sqlite(connection) if connection.vendor == "sqlite" else _of_postgresql(connection)


def _of_sqlite(connection: Any) -> list[str]:
    said = {name: _asked(connection, f"PRAGMA {name}") for name in ("journal_mode", "synchronous", "foreign_keys")}
    found = []
    if said["journal_mode"] not in ("delete", "truncate", "persist", "wal"):
        found.append(f"SQLite's journal_mode is {said['journal_mode']}. Set it to DELETE.")
    if said["journal_mode"] == "wal" and sqlite3.sqlite_version_info < SOUND_WAL:
        found.append(f"SQLite {sqlite3.sqlite_version} can damage a file in WAL mode. Set journal_mode to DELETE.")
    least, name = (FULL, "FULL") if said["journal_mode"] == "wal" else (EXTRA, "EXTRA")
    if said["synchronous"] < least:
        found.append(f"SQLite's synchronous is {said['synchronous']}. Set it to {name} ({least}).")
    if not said["foreign_keys"]:
        found.append("SQLite's foreign_keys is off. Set it to ON.")
    if _asked(connection, "PRAGMA mmap_size") not in (0, None):
        found.append("SQLite's mmap_size is not 0. Set it to 0.")
    return found


def _of_postgresql(connection: Any) -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(POSTGRESQL)
        said = dict(cursor.fetchall())
    found = [
        f"PostgreSQL's {name} is {said[name]}. Set it to on in postgresql.conf."
        for name in ("fsync", "full_page_writes")
        if said[name] != "on"
    ]
    if said["synchronous_commit"] not in WAITS_FOR_THE_DISK:
        found.append("PostgreSQL's synchronous_commit is off. Set it to on, for this database and this user, too.")
    return found


def _asked(connection: Any, question: str) -> Any:
    with connection.cursor() as cursor:
        row = cursor.execute(question).fetchone()
    return row[0] if row else None
