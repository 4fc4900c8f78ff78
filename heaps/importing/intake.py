"""Through the one door, in batches: what is new goes in, what is here already is left alone."""

import hashlib
import json
import sqlite3
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils import timezone

from heaps import history, wire
from heaps.doubts import NOTEBOOK
from heaps.models import Entry, known_materials
from heaps.sync import Receipt, Sending, accept
from members.models import Member

#: A line always gets the same number from this, so that a file may be brought in again.
LINES = uuid.UUID("9f0c1c4e-6a57-4b0e-9d5b-0a7c5a1f3e52")
#: And from this, the number of what takes a line back.
BACK = uuid.UUID("c27c9a55-3f1d-4b39-8a0e-6a1f0b8a4d77")
BATCH = 500
LARGEST = 5_000


@dataclass(frozen=True)
class Found:
    """A good line: the entry it makes, without its number, and who recorded it."""

    line: int
    content: Mapping[str, str]
    raw: dict[str, Any]
    person: Member | None  # nobody, where they have left since the file was read

    def numbered_again(self) -> "Found":
        """The same under the number that follows its own."""
        return replace(self, raw=self.raw | {"uid": str(uuid.uuid5(LINES, self.raw["uid"]))})


@dataclass(frozen=True)
class Bad:
    """A line that stays out, and why. `column` is empty where the line as a whole is meant.

    What the door said of it is in the language of whoever brought it in.
    """

    line: int
    column: str
    reason: wire.Refusal

    @classmethod
    def told(cls, line: int, reason: str) -> "Bad":
        """By what the door said of it."""
        return cls(line, "", wire.Refusal("%(reason)s", reason=reason))

    def __str__(self) -> str:
        return f"line {self.line}{f', {self.column}' if self.column else ''}: {self.reason}"


@dataclass
class Tally:
    """How the lines fared."""

    went_in: int = 0
    here_already: int = 0
    bad: int = 0


def bring_in(
    rows: Iterable[Found | Bad], importer: Member, tell: Callable[[Bad], None], dry_run: bool = False
) -> Tally:
    """Take the good lines in and tell of each bad one. With `dry_run` nothing is written."""
    intake = _Intake(importer, tell, dry_run)
    batch: list[Found] = []
    passing = sqlite3.connect("", isolation_level=None)  # a file that vanishes
    passing.execute("BEGIN")
    for row in numbered(rows, Repeats(passing)):
        if isinstance(row, Bad):
            intake.leave_out(row)
            continue
        later = bool(batch) and batch[-1].raw["occurred_at"] != row.raw["occurred_at"]
        if (len(batch) >= BATCH and later) or len(batch) >= LARGEST:  # what happened at one moment stays together
            intake.hand_in(batch)
            batch = []
        batch.append(row)
    intake.hand_in(batch)
    passing.close()
    return intake.tally


@dataclass
class _Intake:
    """Who brings it in, whom to tell, and how it fares."""

    importer: Member
    tell: Callable[[Bad], None]
    dry_run: bool
    tally: Tally = field(default_factory=Tally)

    def hand_in(self, batch: list[Found]) -> None:
        new = not_here(batch)
        self.tally.here_already += len(batch) - len(new)
        if self.dry_run:
            self.tally.went_in += len(new)
            return
        for row, receipt in zip(new, take_in(new, self.importer), strict=True):
            self._count(row.line, receipt)

    def leave_out(self, bad: Bad) -> None:
        self.tally.bad += 1
        self.tell(bad)

    def _count(self, line: int, receipt: Receipt) -> None:
        if receipt.state == "accepted":
            self.tally.went_in += 1
        elif receipt.state == "known":
            self.tally.here_already += 1
        else:
            self.leave_out(Bad.told(line, receipt.reason))


def take_in(rows: Sequence[Found], importer: Member) -> list[Receipt]:
    """Through the door, a receipt for each."""
    now = timezone.now()
    people = {row.raw["uid"]: row.person for row in rows}
    sending = Sending(importer, NOTEBOOK, sent_at=now, received_at=now, recorded_by=people, from_file=True)
    return accept([row.raw for row in rows], sending)


def not_here(rows: Sequence[Found]) -> list[Found]:
    """Those that are not in the ledger yet. One that was brought in and taken back with its whole file is not here: it
    comes again under another number, because a number stands in the ledger once."""
    new, asked = [], list(rows)
    while asked:
        here = here_by_now({row.raw["uid"] for row in asked})
        new += [row for row in asked if row.raw["uid"] not in here]
        asked = [row.numbered_again() for row in asked if here.get(row.raw["uid"]) == "gone"]
    return sorted(new, key=lambda row: row.raw["occurred_at"])


def here_by_now(uids: Set[str]) -> dict[str, str]:
    """Of some numbers those in the ledger: each "here", or "gone" if it was taken back with its file."""
    rows = {str(row.uid): row for row in Entry.objects.filter(uid__in=uids).select_related("bay")}
    backs = {str(back_number(uid)): uid for uid in rows}
    taken = {
        backs[str(uid)] for uid in Entry.objects.filter(uid__in=backs, kind="correction").values_list("uid", flat=True)
    }
    standing = {entry.uid for entry in history.as_they_stand([rows[uid] for uid in taken])} if taken else set()
    return {uid: "gone" if uid in taken - standing else "here" for uid in rows}


def back_number(uid: str) -> uuid.UUID:
    """The number of the correction that takes an entry back with its whole file."""
    return uuid.uuid5(BACK, uid)


def numbered(rows: Iterable[Found | Bad], repeats: "Repeats") -> Iterator[Found | Bad]:
    """Each good line with its entry's own number, made from what it says and how often that was said before."""
    materials = known_materials()
    for row in rows:
        if isinstance(row, Bad):
            yield row
            continue
        said = json.dumps([row.raw["site"], *sorted(row.content.items())])
        uid = uuid.uuid5(LINES, f"{repeats.count(said)} {said}")
        raw = {**row.raw, "wire": wire.WIRE, "uid": str(uid), "by_hand": True}
        try:
            wire.read(raw, materials)
        except wire.Refusal as refusal:
            yield Bad(row.line, "", refusal)
        else:
            yield Found(row.line, row.content, raw, row.person)


class Repeats:
    """Counts equal lines in a table of a file, so that a long notebook needs no more memory."""

    def __init__(self, file: sqlite3.Connection) -> None:
        self.list = file
        file.execute("CREATE TABLE IF NOT EXISTS seen (said BLOB PRIMARY KEY, times INTEGER NOT NULL) WITHOUT ROWID")

    def count(self, said: str) -> int:
        """How often `said` was counted, this time included."""
        key = (hashlib.sha256(said.encode()).digest(),)
        self.list.execute("INSERT INTO seen VALUES (?, 1) ON CONFLICT (said) DO UPDATE SET times = times + 1", key)
        times: int = self.list.execute("SELECT times FROM seen WHERE said = ?", key).fetchone()[0]
        return times
