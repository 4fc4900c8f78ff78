"""Through the one door, in batches: what is new goes in, what is here already is left alone."""

import hashlib
import json
import sqlite3
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone

from heaps import wire
from heaps.doubts import NOTEBOOK
from heaps.models import Entry
from heaps.sync import Receipt, Sending, accept
from members.models import Member

#: A line always gets the same number from this, so that a file may be brought in again.
LINES = uuid.UUID("9f0c1c4e-6a57-4b0e-9d5b-0a7c5a1f3e52")
BATCH = 500
LARGEST = 5_000


@dataclass(frozen=True)
class Found:
    """A good line: the entry it makes, without its number, and who recorded it."""

    line: int
    content: Mapping[str, str]
    raw: dict[str, Any]
    person: Member


@dataclass(frozen=True)
class Bad:
    """A line that stays out, and why. `column` is empty where the line as a whole is meant."""

    line: int
    column: str
    reason: str

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
    for row in _numbered(rows):
        if isinstance(row, Bad):
            intake.leave_out(row)
            continue
        later = bool(batch) and batch[-1].raw["occurred_at"] != row.raw["occurred_at"]
        if (len(batch) >= BATCH and later) or len(batch) >= LARGEST:  # what happened at one moment stays together
            intake.hand_in(batch)
            batch = []
        batch.append(row)
    intake.hand_in(batch)
    return intake.tally


@dataclass
class _Intake:
    """Who brings it in, whom to tell, and how it fares."""

    importer: Member
    tell: Callable[[Bad], None]
    dry_run: bool
    tally: Tally = field(default_factory=Tally)

    def hand_in(self, batch: list[Found]) -> None:
        uids = [row.raw["uid"] for row in batch]
        here = {str(uid) for uid in Entry.objects.filter(uid__in=uids).values_list("uid", flat=True)}
        new = [row for row in batch if row.raw["uid"] not in here]
        self.tally.here_already += len(batch) - len(new)
        if self.dry_run:
            self.tally.went_in += len(new)
            return
        now = timezone.now()
        people = {row.raw["uid"]: row.person for row in new}
        sending = Sending(self.importer, NOTEBOOK, sent_at=now, received_at=now, recorded_by=people)
        for row, receipt in zip(new, accept([row.raw for row in new], sending), strict=True):
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
            self.leave_out(Bad(line, "", receipt.reason))


def _numbered(rows: Iterable[Found | Bad]) -> Iterator[Found | Bad]:
    """Each good line with its entry's own number, made from what it says and how often that was said before."""
    with _Repeats() as repeats:
        for row in rows:
            if isinstance(row, Bad):
                yield row
                continue
            said = json.dumps([row.raw["site"], *sorted(row.content.items())])
            uid = uuid.uuid5(LINES, f"{repeats.count(said)} {said}")
            raw = {**row.raw, "wire": wire.WIRE, "uid": str(uid), "by_hand": True}
            try:
                wire.read(raw)
            except wire.Refusal as refusal:
                yield Bad(row.line, "", str(refusal))
            else:
                yield Found(row.line, row.content, raw, row.person)


class _Repeats:
    """Counts equal lines. It keeps its list in a file that vanishes, so that a long notebook needs no more memory."""

    def __enter__(self) -> "_Repeats":
        self.list = sqlite3.connect("", isolation_level=None)
        self.list.execute("CREATE TABLE seen (said BLOB PRIMARY KEY, times INTEGER NOT NULL) WITHOUT ROWID")
        self.list.execute("BEGIN")
        return self

    def __exit__(self, *trouble: object) -> None:
        self.list.close()

    def count(self, said: str) -> int:
        """How often `said` was counted, this time included."""
        key = (hashlib.sha256(said.encode()).digest(),)
        self.list.execute("INSERT INTO seen VALUES (?, 1) ON CONFLICT (said) DO UPDATE SET times = times + 1", key)
        times: int = self.list.execute("SELECT times FROM seen WHERE said = ?", key).fetchone()[0]
        return times
