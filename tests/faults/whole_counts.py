"""What became of every entry of a whole phone's schedule: lost, duplicated, unexpected, stuck."""

from dataclasses import dataclass, field
from typing import Any

from tests.serving import Server

COUNTERS = ("lost", "duplicated", "unexpected", "stuck")


@dataclass
class Counts:
    """What became of every entry of a schedule."""

    lost: list[str] = field(default_factory=list)
    duplicated: list[str] = field(default_factory=list)
    unexpected: list[str] = field(default_factory=list)
    stuck: list[str] = field(default_factory=list)
    entries: int = 0
    kills: int = 0

    @property
    def holds(self) -> bool:
        return not any(getattr(self, name) for name in COUNTERS)

    def add_up(self, server: Server, typed: dict[str, str], kept: set[str], waiting: list[dict[str, Any]]) -> None:
        """At the end: what was `typed` and by whom, what a phone said it `kept`, and what is `waiting` there still."""
        self.entries = len(typed)
        rows = server.rows("select e.words, m.username from heaps_entry e join members_member m on m.id = e.person_id")
        there, waits = [words for words, _who in rows], [one["entry"]["words"] for one in waiting]
        self.lost += [words for words in sorted(kept) if words not in there and words not in waits]
        self.duplicated += [words for words in sorted(set(there)) if there.count(words) > 1]
        self.unexpected += [f"{words} of {who}" for words, who in rows if typed.get(words) != who]
        self.unexpected += [f"laid aside: {uid}" for (uid,) in server.rows("select uid from heaps_parked")]
        self.stuck += waits
