"""Make a copy, bring it back elsewhere, compare, and only then say that there is one."""

import json
import time
from datetime import datetime
from pathlib import Path
from types import ModuleType

from cooperative.backups import Trouble, erased, postgres, proof, shelf, sqlite
from cooperative.backups.standing import Database, live, standing_on

KEEP = 35  # a night each, as long as a phone keeps its journal
ENGINES = {"django.db.backends.sqlite3": sqlite, "django.db.backends.postgresql": postgres}


def make(place: Path | None, keep: int, now: datetime) -> shelf.Slip:
    """One proven copy more in the folder `place`. Raises Trouble, and notes it, when there is none."""
    try:
        with shelf.one_at_a_time():
            slip = _make(shelf.folder(place or shelf.home()), now)
            shelf.note_proven(slip)
            erased.write_list(Path(slip.folder))
            shelf.throw_away_old(Path(slip.folder), keep)
    except (Trouble, OSError) as trouble:
        shelf.note_failed(now, str(trouble))
        raise Trouble(str(trouble)) from trouble
    return slip


def engine_of(database: Database) -> ModuleType:
    """How copies of that database are made."""
    return ENGINES[database["ENGINE"]]


def _make(place: Path, now: datetime) -> shelf.Slip:
    began, name = time.monotonic(), shelf.name_at(now)
    engine = engine_of(live())
    shelf.clear_parts(place)
    copy, part = place / f"{name}{engine.SUFFIX}", place / f"{name}{shelf.PART}"
    part.touch(0o600)
    try:
        held = engine.take(live(), part)
        wrong = _proved(engine, part, held)
        if wrong:
            kept = shelf.set_apart(part, name, wrong)
            raise Trouble("\n".join([*wrong, f"The copy is not whole. It is kept apart: {kept}"]))
        slip = shelf.Slip(
            copy.name, str(place.absolute()), now, round(time.monotonic() - began, 1), part.stat().st_size,
            shelf.digest(part), held, held.tables["members_member"],
        )  # fmt: skip
        shelf.write(copy.with_suffix(".json"), json.dumps(slip.plain(), indent=1))
        part.replace(copy)
        sqlite.on_disk(copy)
        return slip
    finally:
        part.unlink(missing_ok=True)


def _proved(engine: ModuleType, part: Path, held: proof.Held) -> list[str]:
    """What is wrong with a copy once it is brought back elsewhere and looked through; nothing, if it is whole."""
    with engine.brought_back(part, live(), "proof") as database, standing_on(database):
        return proof.what_is_wrong(held) or proof.wrong_sums()
