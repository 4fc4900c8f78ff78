"""SQLite: a copy in one go while others write, brought back beside the live file, put in its place in one step."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from cooperative.backups import Trouble, held
from cooperative.backups.proof import Held
from cooperative.backups.proof import held as held_by
from cooperative.backups.standing import Database

SUFFIX, BEGINS_WITH = ".sqlite3", b"SQLite format 3\0"
PATIENCE_S = 20
#: What may lie beside a database's file. Beside another database of that name it would damage it
#: (sqlite.org, "How To Corrupt An SQLite Database File", 1.4).
SIDE_FILES = ("-journal", "-wal", "-shm")


def take(live: Database, target: Path) -> Held:
    """Write a copy into the empty file `target`, and say what the source held at that moment.

    All pages in one go: with others writing, a copy page by page would begin anew at each of their commits. Readers
    go on meanwhile; whoever commits waits while the pages are copied, and no longer. Only then is the copy written
    anew (VACUUM), without what was deleted: what is left lying in pages may hold a name.
    """
    rough = target.with_name(target.name + ".rough")
    rough.touch(0o600)
    try:
        with closing(_opened(Path(live["NAME"]))) as source, closing(_opened(rough)) as copy:
            copy.executescript("PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF;")
            source.execute("BEGIN")
            found = held_by(source.cursor(), "sqlite")
            source.backup(copy)
            source.execute("ROLLBACK")
            copy.execute("VACUUM INTO ?", (str(target),))
    except sqlite3.Error as trouble:
        raise Trouble(f"SQLite says: {trouble}.") from trouble
    finally:
        rough.unlink(missing_ok=True)
    on_disk(target)
    return found


@contextmanager
def brought_back(copy: Path, live: Database, name: str) -> Iterator[Database]:
    """The copy as a database of its own beside the live one, called `name`; gone afterwards, unless put in place."""
    place = Path(live["NAME"]).with_name(f"{Path(live['NAME']).stem}.{name}{SUFFIX}")
    _remove(place)
    place.touch(0o600)
    try:
        with copy.open("rb") as source, place.open("wb") as target:
            while piece := source.read(1 << 20):
                target.write(piece)
        yield live | {"NAME": str(place)}
    finally:
        _remove(place)


@contextmanager
def alone_with(live: Database) -> Iterator[None]:
    """Nobody has the live database open, of ours or by another program that is at work in it just now."""
    path = Path(live["NAME"])
    with held.alone_with(path):
        _settle(path)
        yield


def put_in_place(new: Database, live: Database, name: str) -> str:
    """Put the new file where the live one stands, which is kept under another name. Where, or nothing.

    The live name always leads to a whole database: the old file gets a second name first.
    """
    place, fresh = Path(live["NAME"]), Path(new["NAME"])
    kept = place.with_name(f"{place.stem}.{name}{place.suffix}")
    on_disk(fresh)
    there = place.exists()
    for side in SIDE_FILES:  # they belong to the old one, and go with it
        beside = place.with_name(place.name + side)
        if beside.exists():
            beside.rename(kept.with_name(kept.name + side))
    if there:
        os.link(place, kept)
    fresh.replace(place)
    _folder_on_disk(place.parent)
    return str(kept) if there else ""


def kept_database(live: Database, kept: str) -> Database:
    """The old database under the name it was kept by."""
    return live | {"NAME": kept}


def exists(live: Database) -> bool:
    """Whether there is a database yet, with anything in it."""
    return Path(live["NAME"]).exists() and Path(live["NAME"]).stat().st_size > 0


def url(database: Database) -> str:
    """The database as DATABASE_URL says it."""
    return f"sqlite:///{Path(database['NAME']).absolute()}"


def on_disk(path: Path) -> None:
    """A file's content, and its name, are past anything a power cut can take."""
    with path.open("rb") as file:
        os.fsync(file.fileno())
    _folder_on_disk(path.parent)


def _folder_on_disk(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _settle(path: Path) -> None:
    """Let SQLite finish what a killed writer left behind. Raises Trouble where another program is at work."""
    if not path.exists():
        return
    try:
        with closing(_opened(path)) as base:
            base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            base.execute("BEGIN EXCLUSIVE")
            base.execute("ROLLBACK")
    except sqlite3.OperationalError as trouble:
        if "locked" in str(trouble):
            raise Trouble(f"Another program is at work in {path}. Stop it first.") from trouble
    except sqlite3.DatabaseError:
        return  # it cannot be read any more, and its side files are kept with it


def _opened(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=PATIENCE_S, isolation_level=None)


def _remove(place: Path) -> None:
    for side in ("", *SIDE_FILES, ".held"):
        place.with_name(place.name + side).unlink(missing_ok=True)
