"""Where copies lie: each with a slip that says what is in it, and beside them what is known of the last runs."""

import contextlib
import fcntl
import hashlib
import json
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings

from cooperative.backups import Trouble
from cooperative.backups.proof import Held

RECORD, NOT_WHOLE, LOCK = "record.json", "not-whole", "lock"
OURS = re.compile(r"heaps-\d{8}T\d{6}Z(\.sqlite3|\.dump)")
PART = ".part"


@dataclass(frozen=True)
class Slip:
    """What lies beside a proven copy."""

    file: str
    folder: str
    made_at: datetime
    seconds: float
    bytes: int
    sha256: str
    held: Held
    people: int

    def plain(self) -> dict[str, Any]:
        """As JSON has it."""
        return asdict(self) | {"made_at": self.made_at.isoformat(), "held": self.held.plain()}

    @classmethod
    def from_plain(cls, said: dict[str, Any]) -> "Slip":
        moment = datetime.fromisoformat(said["made_at"])
        return cls(**said | {"made_at": moment, "held": Held.from_plain(said["held"])})


@dataclass(frozen=True)
class Record:
    """The last proven copy, and what failed since, if anything did."""

    proven: Slip | None = None
    failed_at: datetime | None = None
    why: str = field(default="")


def home() -> Path:
    """The folder of copies, unless another is said."""
    return Path(settings.BACKUP_DIR)


def folder(path: Path) -> Path:
    """The folder, made if it is not there, and nobody else's to read."""
    path.mkdir(parents=True, exist_ok=True)
    if path.stat().st_uid == os.geteuid() and path == home():
        path.chmod(0o700)
    return path


@contextmanager
def one_at_a_time() -> Iterator[None]:
    """Nobody else makes or brings back a copy meanwhile. What a killed run left behind is cleared away."""
    handle = os.open(folder(home()) / LOCK, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        raise Trouble("Another copy is being made or brought back just now.") from None
    try:
        yield
    finally:
        os.close(handle)


def clear_parts(place: Path) -> None:
    """What a killed run left behind is no copy."""
    for left in place.glob(f"heaps-*{PART}*"):
        left.unlink()


def name_at(moment: datetime) -> str:
    """What a copy of that moment is called, without its ending."""
    return f"heaps-{moment:%Y%m%dT%H%M%SZ}"


def slip_of(copy: Path) -> Slip | None:
    """The slip of a copy, if it lies beside it."""
    path = copy.with_suffix(".json")
    return Slip.from_plain(json.loads(path.read_text(encoding="utf-8"))) if path.exists() else None


def copies(place: Path) -> list[Path]:
    """The proven copies in a folder, the newest first."""
    there = [path for path in place.glob("heaps-*") if OURS.fullmatch(path.name) and path.with_suffix(".json").exists()]
    return sorted(there, reverse=True)


def throw_away_old(place: Path, keep: int) -> None:
    """All but the newest `keep` copies: old ones hold names."""
    for old in copies(place)[keep:]:
        old.unlink()
        old.with_suffix(".json").unlink()


def set_apart(part: Path, name: str, why: list[str]) -> Path:
    """Keep a copy that is not whole where nobody takes it for one, with what is wrong. The one before it goes."""
    apart = part.parent / NOT_WHOLE
    apart.mkdir(mode=0o700, exist_ok=True)
    for earlier in apart.iterdir():
        earlier.unlink()
    kept = apart / f"{name}.bad"
    part.rename(kept)
    kept.with_suffix(".txt").write_text("\n".join(why) + "\n", encoding="utf-8")
    return kept


def digest(path: Path) -> str:
    """The SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def record() -> Record:
    """What is known of the last runs."""
    try:
        said = json.loads((home() / RECORD).read_text(encoding="utf-8"))
        proven = Slip.from_plain(said["proven"]) if said["proven"] else None
        failed = datetime.fromisoformat(said["failed_at"]) if said["failed_at"] else None
        return Record(proven, failed, said["why"])
    except (OSError, ValueError, KeyError, TypeError):
        return Record()


def note_proven(slip: Slip) -> None:
    """The last run was good."""
    _note(Record(slip))


def note_failed(now: datetime, why: str) -> None:
    """The last run was not. A full disk may even refuse that; the command itself says it, too."""
    with contextlib.suppress(OSError):
        _note(Record(record().proven, now, why))


def write(path: Path, text: str) -> None:
    """Write a file whole or not at all, for its owner only."""
    fresh = path.with_name(path.name + ".new")
    fresh.touch(0o600)
    try:
        with fresh.open("w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)


def _note(known: Record) -> None:
    said = {
        "proven": known.proven.plain() if known.proven else None,
        "failed_at": known.failed_at.isoformat() if known.failed_at else None,
        "why": known.why,
    }
    write(folder(home()) / RECORD, json.dumps(said, indent=1))
