"""A real gunicorn with a database of its own: killed, started again on the same port, set back in a moment."""

import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.request
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings

PASSWORD = "leaves and straw"
#: Files by which a test asks `odd_server` for an oddity.
DIE_AFTER_COMMIT, SLOW_ANSWER, NEWER_WORKER = "die after commit", "slow answer", "newer worker"
PROXY_ALONE, WORKER_DIES_AFTER_COMMIT = "proxy alone", "worker dies after commit"
BROKEN_WORKER, WORKER_OFF = "broken worker", "worker off"
#: A number in it: the statement or commit of a sending at which the process that takes it is killed (tests/points.py).
DIE_AT_POINT, POINTS_PASSED = "die at point", "points passed"

#: Two bays of 1,000 litres, a leaf bin, two containers and the people.
GROUND = f"""
import django; django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from heaps.models import Bay, Container, Donor, Site
from heaps.sync import epoch
from members.models import Cooperative, Member
Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40)
site = Site.objects.create(name="Lane Side")
for position, (name, kind) in enumerate([("Bay 1", "open"), ("Bay 2", "open"), ("Leaf bin", "leaf")], 1):
    Bay.objects.create(site=site, name=name, position=position, kind=kind, length_cm=100, width_cm=100, height_cm=100)
Container.objects.create(site=site, name="Bucket", litres=10)
Container.objects.create(site=site, name="Barrow", litres=80)
Donor.objects.create(site=site, kind="stable", organisation="Hobb Stables", contact="Kit at the gate")
Donor.objects.create(kind="households")
for username, name in (("ada", "Ada"), ("bela", "Bela")):
    Member.objects.create_member(username, name, {PASSWORD!r})
Member.objects.create_member("cleo", "Cleo", {PASSWORD!r}, is_coordinator=True)
epoch()
"""

#: The demo's two years, ending at a moment.
SEASON = """
import django; django.setup()
from datetime import datetime
from django.core.management import call_command
from cooperative.demo import fill
call_command("migrate", verbosity=0)
fill(datetime.fromisoformat({moment!r}))
"""

#: Beside a season: its forecasts, of few members and not far ahead; past ones of one site only, where they are few.
FORECASTS = """
from heaps.foreseeing import ground, open_heaps, past
from heaps.models import Site
from heaps.science.living import outlook
ground.MEMBERS, outlook.AHEAD_DAYS, outlook.LEAF_AHEAD_DAYS = 4, 120, 120
past.learn_from(Site.objects.all()[:1])
for site in Site.objects.all():
    open_heaps.forecast_site(site, datetime.fromisoformat({moment!r}))
"""

EMPTY = """
import django; django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
"""


@dataclass
class Server:
    """A gunicorn on a port that it keeps."""

    database: Path
    port: int
    extra: dict[str, str] = field(default_factory=dict)
    under: list[str] = field(default_factory=list)  # a program that starts it and watches it
    process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Where it serves. Localhost counts as safe, so that a phone keeps the page without https."""
        return f"http://localhost:{self.port}"

    @property
    def odd(self) -> Path:
        """The folder in which a file asks for an oddity."""
        return self.database.parent / "odd"

    @property
    def entries(self) -> int:
        """How many entries the ledger holds."""
        count: int = self.rows("select count(*) from heaps_entry")[0][0]
        return count

    def start(self) -> None:
        """Serve, and wait for the first answer."""
        self.odd.mkdir(exist_ok=True)
        self.process = subprocess.Popen(
            [*self.under, sys.executable, *self._program()],
            cwd=settings.BASE_DIR,
            env=environment(self.database) | {"HEAPS_ODD": str(self.odd)} | self.extra,
            start_new_session=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self._await_answer()

    def _program(self) -> list[str]:
        options = ["-w", "2", "--threads", "2", "--preload", "--no-control-socket", "-b", f"127.0.0.1:{self.port}"]
        return ["-m", "gunicorn", *options, "tests.odd_server:application"]

    def _await_answer(self) -> None:
        for _ in range(600):
            try:
                urllib.request.urlopen(f"{self.url}/drop-off/now/", timeout=2).close()
                return
            except OSError:
                time.sleep(0.1)
        raise TimeoutError("gunicorn did not answer")

    def kill(self) -> None:
        """End it and its workers at once."""
        if self.process:
            if self.process.poll() is None:
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def await_death(self) -> None:
        """Wait until it has been killed by its own oddity."""
        assert self.process
        self.process.wait(timeout=20)
        self.process = None

    def begin_anew(self, ground: Path) -> None:
        """Running, not odd, and with the rows of another database: what came before has never been."""
        for oddity in self.odd.glob("*"):
            oddity.unlink()
        with closing(sqlite3.connect(ground)) as source, closing(sqlite3.connect(self.database, timeout=20)) as target:
            source.backup(target)
        if not self.process or self.process.poll() is not None:
            self.kill()
            self.start()

    def rows(self, question: str, *values: object) -> list[tuple[Any, ...]]:
        """The answer to a question in SQL."""
        with closing(sqlite3.connect(self.database, timeout=20)) as base, base:
            return base.execute(question, values).fetchall()


def free_port() -> int:
    """A port that nobody uses."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
        return port


def make_database(database: Path, script: str) -> Path:
    """Fill a new database by a script in a process of its own."""
    subprocess.run([sys.executable, "-c", script], cwd=settings.BASE_DIR, env=environment(database), check=True)
    return database


def environment(database: Path) -> dict[str, str]:
    """What a process on that database is told."""
    return {
        **os.environ,
        "HEAPS_MODE": "test",
        "HEAPS_VAR": str(settings.VAR_DIR),
        "DATABASE_URL": f"sqlite:///{database}",
        "DJANGO_SETTINGS_MODULE": "cooperative.settings",
    }
