"""Fifty phones at ten sites that find a signal at the same second, a hundred entries of three days on each.

`manage.py faults --rush`: real gunicorn with two workers, as a host has it, on SQLite or with `--database postgresql`.
Nothing may be lost or answered with an error; how long it takes is judged here only, because a test may run on a busy
machine.
"""

import os
import random
import sys
import tempfile
import threading
import time
import uuid
from collections import Counter
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import django

from cooperative.bench.figures import Figure, p95
from cooperative.collecting import collect_static
from tests.faults.bases import Base, new_base
from tests.faults.telling import parser_of, tell
from tests.faults.visitor import Visitor
from tests.postgres import private_cluster
from tests.serving import GROUND, PASSWORD

PHONES, SITES, ENTRIES, LETTER = 50, 10, 100, 50
MOST_SECONDS, MOST_P95_S = 60, 2
TRIES = 40
MATERIALS = ("grass-fresh", "cardboard", "coffee", "peelings")
#: People and ground for so many phones, after `GROUND`.
PEOPLE = f"""
for number in range(2, {SITES} + 1):
    site = Site.objects.create(name=f"Lane {{number}}")
    for position in (1, 2):
        Bay.objects.create(
            site=site, name=f"Bay {{position}}", position=position, length_cm=100, width_cm=100, height_cm=100
        )
Site.objects.update(time_zone="UTC")
for number in range({PHONES}):
    Member.objects.create_member(f"grower{{number}}", f"Grower {{number}}", {PASSWORD!r})
"""
#: The stored totals are what plain SQL counts.
COUNTED_ANEW = """
import django; django.setup()
from tests.faults.door.totals import kept_totals
from tests.recount import recounted
assert kept_totals() == recounted()
"""


@dataclass
class Rush:
    """What came of it. `states` counts receipts, `statuses` answers, `times` are seconds a request."""

    phones: int
    entries: int
    seconds: float = 0.0
    times: list[float] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)
    states: Counter[str] = field(default_factory=Counter)
    rows: int = 0

    @property
    def lost(self) -> int:
        """Entries that no receipt came for, or that are not in the ledger."""
        sent = self.phones * self.entries
        return max(sent - self.states["accepted"] - self.states["known"], sent - self.rows)

    def figures(self, engine: str) -> list[Figure]:
        """How long it took, and what may not be."""
        of = f"rush of {self.phones} phones on {engine}"
        failed = sum(count for status, count in self.statuses.items() if status >= 500)
        return [
            Figure(f"{of}: entries of each", self.entries, ""),
            Figure(f"{of}: until all is in", self.seconds, "s", MOST_SECONDS),
            Figure(f"{of}: 95 of 100 requests within", p95(self.times), "s", MOST_P95_S),
            Figure(f"{of}: answers of 500 or more", failed, "", 0),
            Figure(f"{of}: entries lost", self.lost, "", 0),
        ]


def rush(base: Base, folder: Path, phones: int = PHONES, entries: int = ENTRIES) -> Rush:
    """Let them all send at once. The base must hold their people: `GROUND + PEOPLE`."""
    found = Rush(phones, entries)
    server = base.server(folder)
    try:
        server.start()
        holders = [_Phone(Visitor(server).sign_in(f"grower{number}"), number, base) for number in range(phones)]
        together = threading.Barrier(phones + 1)
        threads = [threading.Thread(target=one.drain, args=(found, entries, together)) for one in holders]
        for thread in threads:
            thread.start()
        together.wait()
        began = time.monotonic()
        for thread in threads:
            thread.join()
        found.seconds = time.monotonic() - began
    finally:
        server.kill()
    (found.rows,) = base.rows("select count(*) from heaps_entry")[0]
    return found


class _Phone:
    def __init__(self, visitor: Visitor, number: int, base: Base) -> None:
        self.visitor, self.chance = visitor, random.Random(number)
        sites = base.rows("select id, uid from heaps_site order by id")
        site_id, site = sites[number % len(sites)]
        bays = base.rows(f"select uid from heaps_bay where kind = 'open' and site_id = {site_id}")
        self.site, self.bays = _dashed(site), [_dashed(bay) for (bay,) in bays]

    def drain(self, found: Rush, entries: int, together: threading.Barrier) -> None:
        """Letter after letter, each again until it is answered."""
        letters = [[self._entry() for _ in range(LETTER)] for _ in range(entries // LETTER)]
        together.wait()
        for letter in letters:
            for _ in range(TRIES):
                began = time.monotonic()
                answer = self.visitor.send(letter)
                found.times.append(time.monotonic() - began)
                found.statuses[answer.status if answer else 0] += 1
                if answer and answer.status == 200:
                    found.states.update(answer.states)
                    break
                time.sleep(self.chance.random())

    def _entry(self) -> dict[str, Any]:
        at = datetime.now(UTC) - timedelta(minutes=self.chance.randrange(3 * 24 * 60))
        load = {"feedstock": self.chance.choice(MATERIALS), "half_containers": 3, "container_ml": 10_000}
        return {
            "wire": 1, "uid": str(uuid.UUID(int=self.chance.getrandbits(128), version=4)), "kind": "dropoff",
            "site": self.site, "bay": self.chance.choice(self.bays), "occurred_at": at.isoformat(), "by_hand": False,
            "details": load, "words": "",
        }  # fmt: skip


def _dashed(uid: object) -> str:
    return str(uuid.UUID(str(uid)))


def main(given: list[str]) -> int:
    """As the command has it."""
    parser = parser_of("--rush", None)
    parser.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    options = parser.parse_args(given)
    with ExitStack() as opened:
        folder = Path(
            opened.enter_context(tempfile.TemporaryDirectory(prefix="heaps-rush-", dir=tempfile.gettempdir()))
        )
        if options.database == "postgresql":
            os.environ["DATABASE_URL"] = opened.enter_context(private_cluster())
        django.setup()
        collect_static()
        base = new_base(folder, GROUND + PEOPLE)
        found = rush(base, folder)
        base.prove()
        base.run(COUNTED_ANEW)
    return tell(options, f"rush-{options.database}", found.figures(options.database))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
