"""A server starts only on a database that keeps what it commits, as a live connection says of itself."""

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import connection
from pytest_django import Settings

from cooperative import durability
from cooperative.backups.making import engine_of
from cooperative.backups.standing import live, standing_on

pytestmark = pytest.mark.ledger

START = "import cooperative.wsgi; print('serves')"


@pytest.fixture
def serving(db: None, settings: Settings) -> Iterator[None]:
    """As in a process that gives receipts, with no leave to be weaker."""
    settings.WEAK_DATABASE_FOR_TESTS = False
    yield
    durability._serving.update(asked=False, sound=False)


@pytest.mark.sqlite
def test_the_settings_of_a_host_are_strong_enough(serving: None, tmp_path: Path) -> None:
    with standing_on(live() | {"NAME": str(tmp_path / "strong.sqlite3")}):
        assert durability.weaknesses(connection) == []
        durability.serve()
        assert connection.connection is None  # a server may fork now
        connection.ensure_connection()
        assert durability._serving["sound"]


WEAKER = {
    "PRAGMA synchronous=FULL": "synchronous is 2. Set it to EXTRA",
    "PRAGMA synchronous=OFF": "synchronous is 0. Set it to EXTRA",
    "PRAGMA journal_mode=MEMORY": "journal_mode is memory. Set it to DELETE",
    "PRAGMA journal_mode=OFF": "journal_mode is off. Set it to DELETE",
    "PRAGMA journal_mode=WAL": "can damage a file in WAL mode",
    "PRAGMA foreign_keys=OFF": "foreign_keys is off",
    "PRAGMA mmap_size=1000000": "mmap_size is not 0",
}


@pytest.mark.sqlite
@pytest.mark.parametrize("weaker", WEAKER)
def test_a_weaker_sqlite_is_named_and_refused(weaker: str, serving: None, tmp_path: Path) -> None:
    if "WAL" in weaker and sqlite3.sqlite_version_info >= durability.SOUND_WAL:
        pytest.skip("this SQLite writes ahead soundly")
    options = live()["OPTIONS"]
    weak = {
        "NAME": str(tmp_path / "weak.sqlite3"),
        "OPTIONS": options | {"init_command": f"{options['init_command']}{weaker}"},
    }
    with standing_on(live() | weak):
        if "foreign_keys" in weaker:  # Django sets these when it connects, so they are taken away afterwards
            connection.cursor().execute(weaker)
            assert WEAKER[weaker] in durability.weaknesses(connection)[0]
            return
        with pytest.raises(durability.TooWeak, match=WEAKER[weaker]):
            durability.serve()


@pytest.mark.sqlite
def test_wal_with_full_is_enough_where_sqlite_writes_ahead_soundly(
    serving: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 51, 3))
    wal = {
        "NAME": str(tmp_path / "wal.sqlite3"),
        "OPTIONS": live()["OPTIONS"] | {"init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL"},
    }
    with standing_on(live() | wal):
        assert durability.weaknesses(connection) == []
        connection.cursor().execute("PRAGMA synchronous=NORMAL")
        assert "Set it to FULL" in durability.weaknesses(connection)[0]


@pytest.mark.postgresql
def test_a_weaker_postgresql_is_named_and_refused(serving: None) -> None:
    """The private cluster of the tests is as weak as one can be."""
    found = "\n".join(durability.weaknesses(connection))
    assert "fsync is off. Set it to on in postgresql.conf" in found
    assert "full_page_writes is off" in found and "synchronous_commit is off" in found
    connection.cursor().execute("SET synchronous_commit = on")
    assert len(durability.weaknesses(connection)) == 2


@pytest.mark.parametrize("allowed", [True, False])
def test_a_server_says_what_to_set_and_ends(allowed: bool, db: None, tmp_path: Path) -> None:
    """In a process of its own, on a database weaker than a receipt promises."""
    database = live()
    environment = os.environ | {
        "HEAPS_MODE": "test", "DJANGO_SETTINGS_MODULE": "cooperative.settings", "HEAPS_VAR": str(settings.VAR_DIR),
        "HEAPS_WEAK_DATABASE": "for tests only" if allowed else "", "DATABASE_URL": engine_of(database).url(database),
    }  # fmt: skip
    weaken = ""
    if connection.vendor == "sqlite":
        weaken = "from cooperative import settings; settings.DATABASES['default']['OPTIONS']['init_command'] += WEAK;"
        weaken = weaken.replace("WEAK", "'PRAGMA synchronous=NORMAL'")
    done = subprocess.run(
        [sys.executable, "-c", weaken + START],
        env=environment,
        cwd=settings.BASE_DIR,
        text=True,
        capture_output=True,
        check=False,
    )
    assert (done.returncode == 0, "serves" in done.stdout) == (allowed, allowed), done.stderr
    if not allowed:
        assert "may lose entries after a phone was told" in done.stderr and "Set it to" in done.stderr


def test_only_the_tests_may_be_weaker() -> None:
    asked = "from django.conf import settings; print(settings.WEAK_DATABASE_FOR_TESTS)"
    for mode, value, leave in (
        ("host", "for tests only", False),
        ("demo", "for tests only", False),
        ("test", "1", False),
    ):
        environment = os.environ | {
            "HEAPS_MODE": mode,
            "HEAPS_WEAK_DATABASE": value,
            "HEAPS_CHECKS": "1",
            "DJANGO_SETTINGS_MODULE": "cooperative.settings",
            "HEAPS_VAR": str(settings.VAR_DIR),
        }
        done = subprocess.run(
            [sys.executable, "-c", asked],
            env=environment,
            cwd=settings.BASE_DIR,
            text=True,
            capture_output=True,
            check=True,
        )
        assert done.stdout.strip() == str(leave), (mode, value)


def test_check_says_it_too(db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.WEAK_DATABASE_FOR_TESTS = False
    monkeypatch.setattr(durability, "weaknesses", lambda _connection: ["PostgreSQL's fsync is off."])
    with pytest.raises(SystemCheckError, match=r"heaps\.E001.*fsync is off"):
        call_command("check", databases=["default"])
    settings.WEAK_DATABASE_FOR_TESTS = True
    call_command("check", databases=["default"])
