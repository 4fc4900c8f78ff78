"""The server's side of a schedule: a gunicorn on a database that is set back in a moment, and what happens there."""

import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
import uuid
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any, Protocol

from django.conf import settings
from django.db import connection, transaction
from django.test import Client
from django.utils import timezone

from cooperative import leaving
from heaps import history
from heaps.models import Bay, DayTotal, Entry, Ledger, Parked, Site
from heaps.sync import Receipt, Sending, accept, link
from members import sessions
from members.models import Member, Session
from tests.faults.ground import BAYS, GROUND, SPARE
from tests.recount import recounted
from tests.serving import Server, free_port


class Copies(Protocol):
    """Copies of the whole database, by name."""

    def save(self, name: str) -> None:
        """Keep what stands there now."""

    def load(self, name: str) -> None:
        """Put back what stood there: what came since has never been."""


class SqliteCopies:
    """Copies in memory, by SQLite's own backup."""

    def __init__(self) -> None:
        self.file = settings.DATABASES["default"]["NAME"]
        self.kept: dict[str, sqlite3.Connection] = {}

    def save(self, name: str) -> None:
        self.kept[name] = sqlite3.connect(":memory:")
        with closing(sqlite3.connect(self.file, timeout=20)) as source:
            source.backup(self.kept[name])

    def load(self, name: str) -> None:
        with closing(sqlite3.connect(self.file, timeout=20)) as target:
            self.kept[name].backup(target)


class PostgresqlCopies:
    """Copies in schemas beside the real one."""

    def save(self, name: str) -> None:
        copy = "".join(f'CREATE TABLE "{name}"."{table}" AS TABLE public."{table}";' for table in self._tables())
        with connection.cursor() as cursor:
            cursor.execute(f'DROP SCHEMA IF EXISTS "{name}" CASCADE; CREATE SCHEMA "{name}"; {copy}')

    def load(self, name: str) -> None:
        back = "".join(
            f'DELETE FROM public."{table}"; INSERT INTO public."{table}" SELECT * FROM "{name}"."{table}";'
            for table in self._tables()
        )
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"SET LOCAL session_replication_role = replica; {back}")

    def _tables(self) -> list[str]:
        return [name for name in connection.introspection.table_names() if name != "django_migrations"]


class World:
    """Server, database, and who uses them."""

    def __init__(self, folder: Path) -> None:
        url = os.environ["DATABASE_URL"]
        self.server = Server(folder / "heaps.sqlite3", free_port(), {"DATABASE_URL": url})
        self.copies: Copies = SqliteCopies() if connection.vendor == "sqlite" else PostgresqlCopies()

    def __enter__(self) -> "World":
        subprocess.run([sys.executable, "-c", GROUND], cwd=settings.BASE_DIR, check=True)
        self.copies.save("ground")
        self.server.start()
        return self

    def __exit__(self, *_why: object) -> None:
        self.server.kill()

    def begin_anew(self) -> None:
        """As if it had been set up just now, and copied at that moment."""
        self.live()
        self.copies.load("ground")
        self.copy = "ground"

    def live(self) -> None:
        """Serve, if it does not."""
        for oddity in self.server.odd.glob("*"):
            oddity.unlink()
        if not self.server.process or self.server.process.poll() is not None:
            self.server.kill()
            self.server.start()

    def kill_a_worker(self) -> None:
        """One of the processes that answer dies in the middle of whatever it does; another takes its place."""
        assert self.server.process
        pid = self.server.process.pid
        for worker in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()[:1]:
            with suppress(ProcessLookupError):
                os.kill(int(worker), signal.SIGKILL)

    def odd(self, oddity: str) -> None:
        """Ask `odd_server` for an oddity."""
        (self.server.odd / oddity).touch()

    # People

    def is_here(self, person: str) -> bool:
        """Whether somebody with that number may sign in."""
        return Member.objects.filter(uid=person, is_active=True).exists()

    def sign_in(self, person: str) -> str:
        """A session of somebody who signs in: the value of its cookie."""
        client = Client(headers={"user-agent": "Android Chrome"})
        client.force_login(Member.objects.get(uid=person))
        return str(client.cookies[settings.SESSION_COOKIE_NAME].value)

    def end_session(self, cookie: str) -> None:
        Session.objects.filter(session_key=cookie).delete()

    def remove(self, person: str) -> None:
        """An administrator closes an account."""
        member = Member.objects.filter(uid=person).first()
        if member:
            member.is_active = False
            member.save()
            sessions.end_all(member)

    def erase(self, person: str) -> None:
        """Somebody leaves for good."""
        for member in Member.objects.filter(uid=person):
            leaving.erase(member.pk)

    # Ledger

    def take(self, raw: dict[str, Any], person: str) -> Receipt | None:
        """What a coordinator records without a phone of ours; nothing if they are gone."""
        member = Member.objects.filter(uid=person).first()
        now = timezone.now()
        sending = Sending(member, uuid.UUID(int=7), sent_at=now, received_at=now)
        return accept([raw], sending)[0] if member else None

    def remove_spare_bay(self) -> bool:
        """Take the spare bay off the ground, as the set-up pages do where no entry names it."""
        with transaction.atomic():
            Ledger.objects.select_for_update().first()
            bay = Bay.objects.filter(uid=BAYS[SPARE]).first()
            if bay is None or Entry.objects.filter(bay=bay).exists() or str(bay.uid) in self._bays_spoken_of():
                return False
            bay.delete()
            return True

    def backup(self) -> None:
        """A copy, which takes the place of the one before."""
        self.copy = "backup"
        self.copies.save(self.copy)

    def restore(self) -> None:
        """An older backup takes the place of what is there, under a new epoch."""
        self.copies.load(self.copy)
        Ledger.objects.update(epoch=uuid.uuid4())

    @contextmanager
    def locked(self, seconds: float) -> Iterator[None]:
        """Somebody else holds the database's lock for so long; it goes on meanwhile."""
        begun = threading.Event()

        def hold() -> None:
            with transaction.atomic():
                list(Ledger.objects.select_for_update())
                begun.set()
                time.sleep(seconds)
            connection.close()

        holding = threading.Thread(target=hold)
        holding.start()
        begun.wait()
        try:
            yield
        finally:
            holding.join()

    def held(self) -> set[str]:
        """Every number that the server has: in the ledger, or laid aside."""
        return {str(uid) for model in (Entry, Parked) for uid in model.objects.values_list("uid", flat=True)}

    def originals(self) -> list[Entry]:
        """What might be corrected."""
        return list(Entry.objects.exclude(kind="correction").select_related("bay", "site").order_by("pk"))

    def disagreements(self) -> list[str]:
        """Where totals, states or chain are not what the ledger gives."""
        totals = {
            (str(one.bay.uid) if one.bay else None, one.day, one.what, one.detail, one.basis): tuple(
                getattr(one, name)
                for name in ("entries", "wet_g", "volume_ml", "half_bags", "minutes", "people", "tenths_m2")
            )
            for one in DayTotal.objects.select_related("bay")
        }
        counted = recounted()
        wrong = [
            f"total {key}: {totals.get(key)}, counted {counted.get(key)}"
            for key in sorted(totals.keys() | counted.keys(), key=str)
            if totals.get(key) != counted.get(key)
        ]
        return [*wrong, *history.drift(Site.objects.get()), *self._chain()]

    def _chain(self) -> list[str]:
        head, chain = Ledger.objects.get(), "0" * 64
        for row in Entry.objects.order_by("pk"):
            chain = link(chain, row)
            if row.chain != chain:
                return [f"the chain breaks at {row.uid}"]
        return [] if (head.chain, head.entries) == (chain, Entry.objects.count()) else ["the chain's end is another"]

    def _bays_spoken_of(self) -> str:
        return str([*Entry.objects.values_list("details", flat=True), *Parked.objects.values_list("raw", flat=True)])
