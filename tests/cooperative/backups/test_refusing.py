"""What is not brought back: other releases, damage, wrong sums, and never over what somebody has open."""

import os
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from time import sleep
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from cooperative.backups import postgres, proof
from cooperative.backups.making import engine_of, make
from cooperative.backups.standing import Database, live, standing_on
from heaps.models import Entry, Ledger
from tests.cooperative.backups.test_restoring import before, brought_back, copy

__all__ = ["before", "copy"]  # fixtures, taken over as they are
pytestmark = pytest.mark.ledger
RESTS = """
import django; django.setup()
from heaps.models import Ledger
Ledger.objects.get()
print("open", flush=True)
input()
"""


def test_a_copy_of_a_newer_release_is_refused(before: list[dict[str, Any]], backups: Path) -> None:
    connection.cursor().execute(
        "INSERT INTO django_migrations (app, name, applied) VALUES ('heaps', '9999_later', CURRENT_TIMESTAMP)"
    )
    copy = backups / make(None, 35, timezone.now()).file
    _refused(copy, r"newer release than this code \(heaps.9999_later\)")


@pytest.mark.parametrize("with_slip", [True, False])
def test_a_damaged_copy_is_refused_and_nothing_changes(copy: Path, with_slip: bool) -> None:
    whole = bytearray(copy.read_bytes())
    place = whole.find(b"grass-fresh") if connection.vendor == "sqlite" else len(whole) // 2
    whole[place : place + 5] = b"straw"
    copy.write_bytes(whole if connection.vendor == "sqlite" else whole[:place])
    if not with_slip:
        copy.with_suffix(".json").unlink()
    _refused(copy, "its digest differs" if with_slip else "is not what was recorded|damaged|is wrong|pg_restore says")


def test_a_copy_without_its_last_entries_is_refused(copy: Path) -> None:
    """Also where no slip says how many there were."""
    with engine_of(live()).brought_back(copy, live(), "short") as database:
        with standing_on(database):
            Entry.objects.order_by("pk").last().delete()  # type: ignore[union-attr]  # it is there
            connection.close()
        short = copy.with_name("short")
        short.touch()
        engine_of(live()).take(database, short)
    _refused(short, "The ledger holds 1 entries, and its head speaks of 2")


def test_what_is_no_copy_is_refused(copy: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.write_bytes((b"PGDMP" if connection.vendor == "sqlite" else b"SQLite format 3\0") + b"x" * 50)
    _refused(other, "of the other kind of database")
    other.write_text("what,date,bay")
    _refused(other, "no copy that `backup` made")
    _refused(tmp_path / "nowhere", "There is no file")


@pytest.mark.sqlite
@pytest.mark.parametrize("long", [False, True])
def test_wrong_sums_in_a_copy_are_refused(
    long: bool, before: list[dict[str, Any]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(proof, "MOST_REPLAYED", 0 if long else 1000)
    assert proof.wrong_sums() == []
    connection.cursor().execute("UPDATE heaps_daytotal SET wet_g = wet_g + 1")
    copy = tmp_path / "copy"
    copy.touch()
    engine_of(live()).take(live(), copy)
    _refused(copy, "What is stored beside the ledger is wrong")


def test_never_over_a_database_that_somebody_has_open(copy: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A server that has nothing to do just now, too: no lock of SQLite's own tells of it."""
    monkeypatch.setattr(postgres, "PATIENCE_S", 0.1)
    other = subprocess.Popen(
        [sys.executable, "-c", RESTS], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        cwd=settings.BASE_DIR, env=_environment(live()),
    )  # fmt: skip
    try:
        assert other.stdout and other.stdout.readline() == "open\n"
        _refused(copy, "Stop them first")
    finally:
        other.communicate("\n")
    assert brought_back(copy).held.entries == 2


@pytest.mark.postgresql
def test_whoever_is_just_going_is_waited_for(copy: Path) -> None:
    going = postgres.connected(live())
    leaves = threading.Timer(0.5, going.close)
    leaves.start()
    assert brought_back(copy).held.entries == 2
    leaves.join()


@pytest.mark.postgresql
def test_postgresql_s_own_cleaning_is_no_somebody(copy: Path) -> None:
    with postgres_cleans(live()):
        assert brought_back(copy).held.entries == 2


@pytest.mark.sqlite
def test_never_over_a_database_in_which_another_program_writes(copy: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cooperative.backups.sqlite.PATIENCE_S", 0.1)
    with closing(sqlite3.connect(live()["NAME"], isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        _refused(copy, "Another program is at work")


@pytest.mark.sqlite
def test_nobody_opens_a_database_that_is_being_put_in_place(copy: Path) -> None:
    with engine_of(live()).alone_with(live()):
        done = subprocess.run(
            [sys.executable, "-c", RESTS], input="\n", capture_output=True, text=True, check=False,
            cwd=settings.BASE_DIR, env=_environment(live()),
        )  # fmt: skip
    assert done.returncode and "is being put in place just now" in done.stderr


@contextmanager
def postgres_cleans(place: Database) -> Iterator[None]:
    """PostgreSQL is busy in this database, slowly, with what was deleted in it."""
    with closing(postgres.connected(place)) as base:
        base.execute("CREATE TABLE rubbish WITH (autovacuum_vacuum_threshold = 0, autovacuum_vacuum_cost_delay = 100,"
                     " autovacuum_vacuum_cost_limit = 1) AS SELECT generate_series(1, 100000)")  # fmt: skip
        base.execute("DELETE FROM rubbish")
    with closing(postgres.connected(place, postgres.ELSEWHERE)) as base:
        base.execute("ALTER SYSTEM SET autovacuum_naptime = 1")
        base.execute("SELECT pg_reload_conf()")
        cleaner = "SELECT count(*) FROM pg_stat_activity WHERE datname = %s AND backend_type = 'autovacuum worker'"
        while not base.execute(cleaner, [place["NAME"]]).fetchone()[0]:
            sleep(0.05)
        try:
            yield
        finally:
            base.execute("ALTER SYSTEM RESET autovacuum_naptime")
            base.execute("SELECT pg_reload_conf()")


def _refused(copy: Path, says: str) -> None:
    """The command ends with 1 and says why, and the database is as it was."""
    epoch, count = Ledger.objects.get().epoch, Entry.objects.count()
    there = {path.name for path in Path(live()["NAME"]).parent.iterdir()} if connection.vendor == "sqlite" else set()
    with pytest.raises(CommandError, match=says) as said:
        call_command("restore", str(copy))
    assert said.value.returncode == 1
    connection.close()
    assert (Ledger.objects.get().epoch, Entry.objects.count()) == (epoch, count)
    if connection.vendor == "sqlite":
        now = {path.name for path in Path(live()["NAME"]).parent.iterdir()}
        assert {one for one in now - there if not one.endswith(".held")} - {"backups"} == set()


def _environment(database: Database) -> dict[str, str]:
    return os.environ | {
        "HEAPS_MODE": "test", "DJANGO_SETTINGS_MODULE": "cooperative.settings", "HEAPS_VAR": str(settings.VAR_DIR),
        "DATABASE_URL": engine_of(database).url(database),
    }  # fmt: skip
