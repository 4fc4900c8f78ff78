"""Who has the SQLite file open: every process of ours holds a lock beside it for as long as it lives.

An open connection that rests holds no lock of SQLite's own, so a server between two requests could not be seen. The
lock stands on a file of its own: opening and closing the database's file would drop SQLite's locks on it
(sqlite.org, "How To Corrupt An SQLite Database File", 2.2). The kernel takes it away when a process dies.
"""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import DEFAULT_DB_ALIAS, connections

from cooperative.backups import STOP_THEM, Trouble

MOVED = ".moved"
_held: dict[Path, int] = {}


def note_open(connection: Any, **_said: Any) -> None:
    """The default database was opened: hold it, unless it has moved or is being put in another's place."""
    name = connection.settings_dict["NAME"]
    if connection.vendor != "sqlite" or name != settings.DATABASES[DEFAULT_DB_ALIAS]["NAME"]:
        return
    database = Path(name)
    if moved := moved_to(database):
        raise ImproperlyConfigured(
            f"These records have moved: {moved} Set DATABASE_URL to that. What is recorded there is not in "
            f"{database}. Only to go back to what stood here then, delete {mark_of(database)}."
        )
    if database not in _held and not _share(database):
        raise ImproperlyConfigured(f"{database} is being put in place just now. Try again in a minute.")


@contextmanager
def alone_with(database: Path) -> Iterator[None]:
    """Nobody else of ours has the file open, and nobody opens it meanwhile. Raises Trouble when somebody has."""
    connections[DEFAULT_DB_ALIAS].close()
    if not _take(database, fcntl.LOCK_EX):
        raise Trouble(f"Somebody has {database} open: a server or another command. {STOP_THEM}")
    try:
        yield
    finally:
        os.close(_held.pop(database))


def mark_of(database: Path) -> Path:
    """The file that says that the records have moved away."""
    return database.with_name(database.name + MOVED)


def moved_to(database: Path) -> str:
    """Where the records of a file have moved to, in words; or nothing."""
    mark = mark_of(database)
    return mark.read_text(encoding="utf-8").strip() if mark.exists() else ""


def _share(database: Path) -> bool:
    """Hold it with others. A disk that takes no small file takes no records either, and that is answered for there."""
    try:
        return _take(database, fcntl.LOCK_SH)
    except OSError:
        return True


def _take(database: Path, how: int) -> bool:
    """Take the lock, or make it another one where this process has it; whether that could be."""
    fresh = database not in _held
    handle = os.open(f"{database}.held", os.O_RDWR | os.O_CREAT, 0o600) if fresh else _held[database]
    try:
        fcntl.flock(handle, how | fcntl.LOCK_NB)
    except BlockingIOError:
        if fresh:
            os.close(handle)
        return False
    _held[database] = handle
    return True
