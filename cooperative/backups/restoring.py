"""Bring a copy back in earnest: proved and made ready beside the live database, then put in its place."""

import io
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from types import ModuleType

from django.core.management import call_command
from django.db import Error, connection
from django.db.migrations.loader import MigrationLoader

from cooperative.backups import Trouble, access, erased, lost, proof, shelf
from cooperative.backups.making import ENGINES, engine_of
from cooperative.backups.standing import Database, beside, live, standing_on
from heaps.models import Ledger

BEFORE = "before"
NOT_WHOLE = "This copy is not whole. Nothing was changed. Take another one."


@dataclass(frozen=True)
class Restored:
    """What was done: what the copy held, where the old database is kept, what is to be known."""

    held: proof.Held
    kept: str
    erased: int
    remarks: list[str]
    lost: lost.Lost | None


def restore(copy: Path, now: datetime) -> Restored:
    """Put a copy in the place of the live database, which is kept. Raises Trouble, and then nothing has changed."""
    if not copy.is_file():
        raise Trouble(f"There is no file {copy}.")
    engine, here, name = _engine_for(copy), live(), f"before-{now:%Y%m%dT%H%M%SZ}"
    slip = shelf.slip_of(copy)
    if slip and shelf.digest(copy) != slip.sha256:
        raise Trouble(
            f"{copy} is not what was written: its digest differs from the one on its slip. Take another copy."
        )
    with shelf.one_at_a_time(), engine.alone_with(here), engine.brought_back(copy, here, "restoring") as database:
        with standing_on(database):
            _must_be_whole(slip.held if slip else None)
            held = proof.held_here()
            _bring_up_to_date()
            with _old(engine, here) as old:
                done = _made_ready(old, copy, now)
            erased.write_list()
        kept = engine.put_in_place(database, here, name)
    return Restored(held, kept, *done)


def _engine_for(copy: Path) -> ModuleType:
    with copy.open("rb") as file:
        begins = file.read(16)
    fits = next((engine for engine in ENGINES.values() if begins.startswith(engine.BEGINS_WITH)), None)
    if fits is None:
        raise Trouble(f"{copy} is no copy that `backup` made.")
    if fits is not engine_of(live()):
        raise Trouble(
            f"{copy} is of the other kind of database. Bring it back where DATABASE_URL says that kind; "
            "`move_up` moves SQLite to PostgreSQL."
        )
    return fits


def _must_be_whole(expected: proof.Held | None) -> None:
    _must_be_ours()
    if wrong := proof.what_is_wrong(expected):
        raise Trouble("\n".join([*wrong, NOT_WHOLE]))


def _must_be_ours() -> None:
    """No migration has been done to it that this code does not know."""
    known = MigrationLoader(None, ignore_no_migrations=True).disk_migrations.keys()
    try:
        done = proof.held_here().migrations
    except Error as trouble:
        raise Trouble(f"It cannot be read: {trouble}.\n{NOT_WHOLE}") from trouble
    strange = [one for one in done if tuple(one.split(".", 1)) not in known]
    if strange:
        raise Trouble(
            f"The copy is of a newer release than this code ({', '.join(strange)}). Bring the code up first. "
            "Nothing was changed."
        )


def _bring_up_to_date() -> None:
    call_command("migrate", verbosity=0, interactive=False)
    if wrong := proof.wrong_sums():
        raise Trouble("\n".join([*wrong, NOT_WHOLE]))


@contextmanager
def _old(engine: ModuleType, here: Database) -> Iterator[str]:
    """The live database under a name of its own, if it is there and can be read; else nothing."""
    if not engine.exists(here):
        yield ""
        return
    with beside(BEFORE, here) as alias:
        try:
            readable = Ledger.objects.using(alias).exists()
        except Error:
            readable = False
        yield alias if readable else ""


def _made_ready(old: str, copy: Path, now: datetime) -> tuple[int, list[str], lost.Lost | None]:
    """What must be so before phones meet it: a new epoch, and nobody back in who was shut out or erased since."""
    missing = lost.since(old, now) if old else None
    remarks = access.stays_taken(old, now)
    gone = erased.read_list(shelf.home()) | erased.read_list(copy.absolute().parent)
    again = erased.erase_again(gone | (access.erased_in(old) if old else frozenset()))
    call_command("detach_names", stdout=io.StringIO())  # what was too old since the copy is too old in it
    if not access.somebody_looks_after():
        remarks.append("No administrator is left. `manage.py set_up_link` makes one.")
    Ledger.objects.update(epoch=uuid.uuid4())
    connection.close()
    return again, remarks, missing
