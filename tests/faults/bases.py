"""Databases of their own for real servers: a file, or where these tests run on PostgreSQL, one in their cluster."""

import os
import shutil
import sqlite3
import subprocess
import sys
import uuid
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
from django.conf import settings

from tests.serving import GROUND, Server, environment, free_port

#: What must hold whatever was killed: stored states and totals equal a full replay, and the chain is whole.
PROOF = """
import django; django.setup()
from heaps import history
from heaps.models import Entry, Ledger, Site
from heaps.sync import link
chain = "0" * 64
for entry in Entry.objects.order_by("pk"):
    assert entry.chain == (chain := link(chain, entry)), f"the chain is broken at {entry.uid}"
head = Ledger.objects.get()
assert (head.chain, head.entries) == (chain, Entry.objects.count()), "the head is not at the chain's end"
drift = [line for site in Site.objects.all() for line in history.drift(site)]
assert not drift, drift
"""


@dataclass(frozen=True)
class Base:
    """A database that a server and a test know by its address."""

    url: str

    @property
    def is_file(self) -> bool:
        return self.url.startswith("sqlite")

    @property
    def file(self) -> Path:
        """Where SQLite keeps it."""
        return Path(self.url.removeprefix("sqlite:///"))

    def rows(self, question: str) -> list[tuple[Any, ...]]:
        """The answer to a question in SQL."""
        if self.is_file:
            with closing(sqlite3.connect(self.file, timeout=20)) as base, base:
                return base.execute(question).fetchall()
        with psycopg.connect(self.url, autocommit=True) as base:
            cursor = base.execute(question)
            return cursor.fetchall() if cursor.description else []

    def held(self, entries: list[dict[str, Any]]) -> list[str]:
        """The numbers of some entries that are in the ledger or laid aside, each as often as it is there."""
        wanted = {one["uid"] for one in entries}
        rows = self.rows("select uid from heaps_entry union all select uid from heaps_parked")
        return sorted(uid for (one,) in rows if (uid := str(uuid.UUID(str(one)))) in wanted)

    def run(self, script: str) -> None:
        """Run a script on it in a process of its own."""
        told = environment(self.file) | {"DATABASE_URL": self.url}
        done = subprocess.run(
            [sys.executable, "-c", script], cwd=settings.BASE_DIR, env=told, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr

    def prove(self) -> None:
        """It is whole: as a file, as a chain, and in all that is kept beside the ledger."""
        if self.is_file:
            assert self.rows("pragma integrity_check") == [("ok",)]
            assert self.rows("pragma foreign_key_check") == []
        self.run(PROOF)

    def server(self, folder: Path, **extra: str) -> Server:
        """A gunicorn that serves it. `folder` is for what a test asks of it."""
        return Server(folder / "none.sqlite3", free_port(), {"DATABASE_URL": self.url} | extra)


def new_base(folder: Path, script: str = GROUND) -> Base:
    """A database on the engine that these tests run on, filled by a script."""
    base = _in_the_cluster() if on_postgresql() else Base(f"sqlite:///{folder / 'heaps.sqlite3'}")
    base.run(script)
    return base


def copy_of(base: Base, folder: Path, more: str = "") -> Base:
    """Another database with the same rows. Nobody may be connected to the first."""
    if not base.is_file:
        return _in_the_cluster(f"template {base.url.rpartition('/')[2]} {more}")
    copy = Base(f"sqlite:///{folder / 'heaps.sqlite3'}")
    shutil.copyfile(base.file, copy.file)
    return copy


def on_postgresql() -> bool:
    """Whether these tests run on PostgreSQL."""
    return not settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")


def _in_the_cluster(more: str = "") -> Base:
    url, name = os.environ["DATABASE_URL"], f"faults_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(url, autocommit=True) as cluster:
        cluster.execute(f"create database {name} {more}")
    return Base(f"{url.rpartition('/')[0]}/{name}")
