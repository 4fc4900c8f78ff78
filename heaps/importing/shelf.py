"""Where an uploaded file lies while it is brought in: in a folder beside the database, outside what anybody can fetch.

Beside the file stands what was read in it: an SQLite file of its own, so that a long notebook needs no memory, and so
that all of it goes with two files. Nothing in it is needed once its lines are in the ledger.
"""

import hashlib
import json
import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import TemporaryUploadedFile, UploadedFile
from django.core.files.uploadhandler import SkipFile, TemporaryFileUploadHandler

from heaps.importing.tables import Table
from heaps.models import ImportRun
from heaps.stewards import care_of
from members.models import Member

MOST_BYTES = 20_000_000
KEPT = timedelta(days=30)
TABLES = """
CREATE TABLE said (what TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE good (number INTEGER PRIMARY KEY, site TEXT, at TEXT, line INTEGER, raw TEXT, person TEXT);
CREATE TABLE bad (number INTEGER PRIMARY KEY, line INTEGER, col TEXT, reason TEXT, UNIQUE (line, col, reason));
CREATE TABLE in_time (place INTEGER PRIMARY KEY, number INTEGER NOT NULL);
"""


class ToDisk(TemporaryFileUploadHandler):
    """Takes a file straight to the disk, from whoever may bring one in and at the addresses for it.

    A file sent anywhere else is passed over unread, and so is the rest of one that is too large.
    """

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        if not self._is_awaited():
            raise SkipFile
        super().new_file(*args, **kwargs)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        if start + len(raw_data) > MOST_BYTES:
            self.file.close()
            if self.request is not None:
                self.request.META["heaps.too_large"] = "1"
            raise SkipFile
        super().receive_data_chunk(raw_data, start)

    def _is_awaited(self) -> bool:
        request = self.request
        match = request.resolver_match if request else None
        if request is None or match is None or not isinstance(request.user, Member):
            return False
        may = AWAITED.get(match.view_name)
        return may is not None and may(request.user)


def may_import(person: Member) -> bool:
    """Whether somebody may bring files in: what comes may be of any site."""
    return person.is_active and (person.has_role("coordinator") or person.has_role("administrator"))


#: The addresses that take files, and from whom.
AWAITED: dict[str, Callable[[Member], bool]] = {
    "heaps:imports": may_import,
    "heaps:carried": lambda person: bool(care_of(person)),
    "heaps:climate": lambda person: bool(care_of(person)),
}


def folder() -> Path:
    """The folder of all files."""
    return Path(settings.FILE_UPLOAD_TEMP_DIR)


def path_of(run: ImportRun) -> Path:
    """The file of a run."""
    return folder() / f"{run.uid}.file"


def path_of_lines(run: ImportRun) -> Path:
    """What was read in it."""
    return folder() / f"{run.uid}.lines"


def put(upload: "UploadedFile[Any]", run: ImportRun) -> None:
    """Keep an upload as the file of a run."""
    if isinstance(upload, TemporaryUploadedFile):
        upload.flush()
        os.replace(upload.temporary_file_path(), path_of(run))  # noqa: PTH105 - one step, whatever happens
    else:
        with path_of(run).open("wb") as file:
            for chunk in upload.chunks():
                file.write(chunk)
    path_of(run).chmod(0o600)


def digest(path: Path) -> str:
    """The SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def begin_lines(run: ImportRun, table: Table) -> None:
    """An empty list of what was read, in place of any earlier one. How the file is written is kept in it."""
    path_of_lines(run).unlink(missing_ok=True)
    said = asdict(table) | {"path": str(table.path)}
    with closing(sqlite3.connect(path_of_lines(run))) as file, file:
        file.executescript(TABLES)
        file.execute("INSERT INTO said VALUES ('table', ?)", (json.dumps(said),))
    path_of_lines(run).chmod(0o600)


@contextmanager
def lines_of(run: ImportRun) -> Iterator[sqlite3.Connection]:
    """What was read, changed in one step or not at all. One at a time."""
    path = f"{path_of_lines(run).as_uri()}?mode=rw"
    with closing(sqlite3.connect(path, uri=True, isolation_level=None, timeout=20)) as file:
        file.execute("BEGIN IMMEDIATE")
        yield file
        file.execute("COMMIT")


def said(file: sqlite3.Connection, what: str, otherwise: str = "") -> str:
    """Something noted beside the lines."""
    found = file.execute("SELECT value FROM said WHERE what = ?", (what,)).fetchone()
    return str(found[0]) if found else otherwise


def note(file: sqlite3.Connection, what: str, value: object) -> None:
    """Note something beside the lines."""
    file.execute("INSERT OR REPLACE INTO said VALUES (?, ?)", (what, str(value)))


def table_of(file: sqlite3.Connection) -> Table:
    """How the file is written."""
    fields = json.loads(said(file, "table"))
    return Table(**fields | {"path": Path(fields["path"]), "head": tuple(fields["head"])})


def is_here(run: ImportRun) -> bool:
    """Whether the file can still be read."""
    return path_of(run).exists() and path_of_lines(run).exists()


def throw_away(run: ImportRun) -> None:
    """The file and what was read in it, with the bad lines."""
    for path in (path_of(run), path_of_lines(run)):
        path.unlink(missing_ok=True)


def keep_bad_lines_only(run: ImportRun) -> None:
    """Once everything is in: the file goes, and of what was read only the bad lines stay, for a while."""
    path_of(run).unlink(missing_ok=True)
    if path_of_lines(run).exists():
        with closing(sqlite3.connect(path_of_lines(run), isolation_level=None)) as file:
            file.executescript("DROP TABLE IF EXISTS good; DROP TABLE IF EXISTS seen; DELETE FROM in_time; VACUUM;")


def throw_away_old(now: datetime) -> None:
    """Whatever lies there longer than files are kept; what a broken upload left behind, too."""
    for path in folder().glob("*"):
        kept = timedelta(days=1) if path.suffix == ".upload" else KEPT
        if path.stat().st_mtime < (now - kept).timestamp():
            path.unlink(missing_ok=True)
