"""Bodies without number to the /sync/ of a real server, and what it did with each: `manage.py faults --fuzz [BODIES]`.

Printed are the seed, how often each status was answered, and the memory of the server. A body that was not answered as
it should is written to a file, with its number: with the same seed it is made again.
"""

import sys
import tempfile
import threading
import time
import uuid
from collections import Counter, defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import django

from cooperative.bench import Figure
from cooperative.collecting import collect_static
from cooperative.management.commands.faults import MEMORY
from tests.faults.fuzz.bodies import Body, Ground, body_of
from tests.faults.fuzz.sender import Sender
from tests.faults.telling import counted, parser_of, tell
from tests.serving import GROUND, Server, free_port, make_database

AT_ONCE = 2
WARM = 150
MOST_MORE_MB = 50
#: So many bodies speak of one site: each entry is late, and a late one is carried in with all that came after it there.
OF_A_SITE = 100
SITES = """
for name in map(str, range({sites})):
    further = Site.objects.create(name=name)
    for bay in site.bays.all():
        sizes = dict(length_cm=bay.length_cm, width_cm=bay.width_cm, height_cm=bay.height_cm)
        Bay.objects.create(site=further, name=bay.name, position=bay.position, kind=bay.kind, **sizes)
"""
#: Raises when the stored totals differ from the ledger.
NO_DRIFT = """
import django; django.setup()
from django.core.management import call_command
call_command("rebuild_totals", check=True)
"""


@dataclass
class Found:
    """What came of all bodies."""

    seed: int
    bodies: int
    statuses: Counter[int] = field(default_factory=Counter)
    receipts: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    warm_mb: float = 0.0
    most_mb: float = 0.0
    seconds: float = 0.0
    slowest_s: float = 0.0

    @property
    def faults(self) -> list[str]:
        """What should not have been, in sentences."""
        more = self.most_mb - self.warm_mb
        heavy = [f"The server took {more:.0f} MB more than when it was warm."] if more > MOST_MORE_MB else []
        unsent = self.bodies - sum(self.statuses.values()) - len(self.wrong)
        return [*self.wrong, *heavy, *([f"{unsent} bodies were not sent."] if unsent > 0 else [])]

    def figures(self) -> list[Figure]:
        """What was sent and answered, and that nothing was met as it should not be."""
        told: dict[str, float] = {"seed": self.seed, "bodies": self.bodies}
        told |= {f"answered {status}": count for status, count in sorted(self.statuses.items())}
        told |= {f"entries {state}": count for state, count in sorted(self.receipts.items())}
        told |= {"slowest answer, s": self.slowest_s}
        of = "wrong letters"
        return [
            *counted(of, told, {"not as it should be": len(self.faults)}, self.seconds),
            Figure(
                f"{of}: memory of the server over when it was warm", self.most_mb - self.warm_mb, "MB", MOST_MORE_MB
            ),
        ]


def fuzz(bodies: int, seed: int, keep: Path) -> Found:
    """Send so many bodies, several at once, and look at the ledger at the end. Nothing here is about the disk."""
    found = Found(seed, bodies)
    with tempfile.TemporaryDirectory(prefix="heaps-fuzz-", dir=MEMORY if MEMORY.is_dir() else None) as folder:
        database = make_database(Path(folder) / "fuzz.sqlite3", GROUND + SITES.format(sites=bodies // OF_A_SITE))
        server = Server(database, free_port())
        try:
            server.start()
            began = time.monotonic()
            Fuzzing(server, found, keep).all()
            found.seconds = time.monotonic() - began
        finally:
            server.kill()
        make_database(database, NO_DRIFT)
    return found


class Fuzzing:
    """Some senders at work on one list of bodies."""

    def __init__(self, server: Server, found: Found, keep: Path) -> None:
        self.server, self.found, self.keep = server, found, keep
        self.grounds = grounds_of(server)
        self.numbers = iter(range(found.bodies))
        self.lock = threading.Lock()

    def all(self) -> None:
        """Until each body has been sent."""
        threads = [threading.Thread(target=self._send_some) for _ in range(AT_ONCE)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self._weigh()

    def _send_some(self) -> None:
        sender = Sender(self.server.port, "ada")
        while (number := self._next()) is not None:
            body = body_of(self.found.seed, number, self.grounds[number // OF_A_SITE])
            with self._kept(number, body):
                self._send(sender, body)

    def _next(self) -> int | None:
        with self.lock:
            number = next(self.numbers, None)
            if number == WARM:
                self.found.warm_mb = server_mb(self.server)
            return number

    @contextmanager
    def _kept(self, number: int, body: Body) -> Iterator[None]:
        """A body that was not met as it should be is kept in a file."""
        try:
            yield
        except Exception as wrong:
            path = self.keep / f"body-{self.found.seed}-{number}.bin"
            path.write_bytes(body.data)
            with self.lock:
                self.found.wrong.append(f"Body {number} of seed {self.found.seed} ({path}): {wrong!r}"[:600])

    def _send(self, sender: Sender, body: Body) -> None:
        began = time.monotonic()
        status, answer = sender.post(body)
        took = time.monotonic() - began
        with self.lock:
            self.found.statuses[status] += 1
            self.found.slowest_s = max(self.found.slowest_s, took)
        if status >= 500:
            raise AssertionError(f"answered {status}")
        receipts = {one["uid"]: one["state"] for one in answer.get("receipts", ())} if status == 200 else {}
        with self.lock:
            self.found.receipts.update(receipts.values())
        if body.good and any(receipts.get(uid) != "accepted" for uid in body.good):
            raise AssertionError(f"a good entry did not go in: {status} {receipts}")
        if any(receipts.get(uid, "refused") != "refused" for uid in body.refused):
            raise AssertionError(f"a wrong entry was taken: {receipts}")
        self._look_at_the_rows(body, receipts)

    def _look_at_the_rows(self, body: Body, receipts: dict[str, str]) -> None:
        """A row in the ledger for each that was accepted, and none for any other of this letter."""
        uids = body.good | body.refused | {uid for uid in receipts if is_uid(uid)}
        if not uids:
            return
        hexes = [uuid.UUID(uid).hex for uid in uids]
        marks = ", ".join("?" * len(hexes))
        rows = {row[0] for row in self.server.rows(f"select uid from heaps_entry where uid in ({marks})", *hexes)}
        accepted = {uuid.UUID(uid).hex for uid, state in receipts.items() if state in ("accepted", "known")}
        if rows != accepted:
            raise AssertionError(f"rows {rows ^ accepted} are not what the receipts say: {receipts}")

    def _weigh(self) -> None:
        self.found.most_mb = server_mb(self.server, most=True)


def grounds_of(server: Server) -> list[Ground]:
    """Whose letters, and where: one for each site."""
    ((ada,),) = server.rows("select uid from members_member where username = 'ada'")
    bays = defaultdict(list)
    for site, bay in server.rows(
        "select s.uid, b.uid from heaps_site s join heaps_bay b on s.id = site_id order by s.id"
    ):
        bays[dashed(site)].append(dashed(bay))
    return [Ground(dashed(ada), site, tuple(those)) for site, those in bays.items()]


def dashed(stored: str) -> str:
    """A number as phones write it."""
    return str(uuid.UUID(stored))


def is_uid(text: object) -> bool:
    """Whether it is a number that an entry can have."""
    try:
        return isinstance(text, str) and str(uuid.UUID(text)) == text
    except ValueError:
        return False


def server_mb(server: Server, most: bool = False) -> float:
    """The memory of the heaviest of the server's processes, now or at most."""
    assert server.process
    name = "VmHWM:" if most else "VmRSS:"
    told = (Path(f"/proc/{pid}/status").read_text() for pid in _family(server.process.pid))
    return max(int(line.split()[1]) / 1_024 for text in told for line in text.splitlines() if line.startswith(name))


def _family(pid: int) -> list[int]:
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    return [pid, *map(int, children)]


def main(given: list[str]) -> int:
    """As the command has it."""
    parser = parser_of("--fuzz", None)
    parser.add_argument("bodies", type=int, nargs="?", default=100_000)
    parser.add_argument("--seed", type=int, default=int(time.time()))
    options = parser.parse_args(given)
    sys.stderr.write(f"Seed {options.seed}\n")
    django.setup()
    collect_static()
    kept = Path(tempfile.mkdtemp(prefix="heaps-fuzz-"))
    found = fuzz(options.bodies, options.seed, kept)
    if not found.wrong:
        kept.rmdir()
    sys.stderr.write("".join(f"{fault}\n" for fault in found.faults[:40]))
    return tell(options, "fuzz", found.figures())


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
