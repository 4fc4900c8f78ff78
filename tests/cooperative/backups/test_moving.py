"""From SQLite to PostgreSQL with nothing lost and nothing doubled, while phones hold full outboxes."""

import errno
import os
import sqlite3
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from typing import Any, ClassVar

import pytest
from django.conf import settings as used
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.utils import timezone

from cooperative.backups import held, moving, postgres
from cooperative.backups import sqlite as sqlite_copies
from cooperative.backups.standing import Database, live, standing_on
from heaps import history
from heaps.models import Bay, Entry, KeptForecast, KeptLesson, Ledger, Site
from heaps.sync import head
from members.models import Cooperative, Member
from tests.postgres import private_cluster
from tests.sendings import correction, load, send, states

#: Run once, beside SQLite, with a private PostgreSQL of their own.
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def cluster() -> Iterator[str]:
    with private_cluster() as url:
        yield url


@pytest.fixture
def target(cluster: str, db: None) -> Iterator[Database]:
    """An empty database on it."""
    place = moving._database(cluster) | {"NAME": "heaps_moved"}
    with closing(postgres.connected(place, postgres.ELSEWHERE)) as base:
        base.execute("DROP DATABASE IF EXISTS heaps_moved WITH (FORCE)")
        base.execute("CREATE DATABASE heaps_moved TEMPLATE template0")
    yield place


@pytest.fixture
def source(backups: Path, db: None, tmp_path: Path) -> Iterator[Database]:
    """We stand on a SQLite file of our own."""
    empty = tmp_path / "empty"
    empty.touch(0o600)
    sqlite_copies.take(live(), empty)
    place = {**live(), "NAME": str(tmp_path / "heaps.sqlite3")}
    with sqlite_copies.brought_back(empty, place, "own") as file, standing_on(file):
        head()
        yield file


@pytest.fixture
def sent(source: Database) -> list[dict[str, Any]]:
    """Six loads, one corrected, one in words that PostgreSQL sorts otherwise."""
    Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40, year_starts_in_month=4)
    ada = Member.objects.create_member("ada", "Ada", "leaves and straw", is_coordinator=True)
    for name in ("lane", "Lane Side", "Élan"):
        site = Site.objects.create(name=name)
        Bay.objects.create(site=site, name="Bay 1", position=1, length_cm=100, width_cm=100, height_cm=100)
    bays = list(Bay.objects.order_by("pk"))
    raws = [load(bays[number % 3], minutes=number, words="ünder the hedge") for number in range(6)]
    send([*raws, correction(bays[0].site, raws[0]["uid"])], ada)
    Client().force_login(ada)
    turn = {"sources": [{"bay": str(bays[0].uid), "per_cent": 100}]}
    assert states(send([load(bays[0], minutes=30, kind="turn", details=turn)], ada)) == ["accepted"]
    return raws


def test_phones_with_full_outboxes_go_on_as_if_nothing_had_been(
    sent: list[dict[str, Any]], source: Database, target: Database
) -> None:
    """What a phone sent and got no receipt for, and what it has kept since: each is there once."""
    kept = [load(Bay.objects.order_by("pk")[0], minutes=20 + number) for number in range(40)]
    epoch, before = Ledger.objects.get().epoch, _everything()
    call_command("move_up", postgres.url(target))
    with standing_on(target):
        assert _everything() == before
        assert Ledger.objects.get().epoch == epoch
        ada = Member.objects.get(username="ada")
        assert states(send([*sent, *kept], ada)) == ["known"] * 6 + ["accepted"] * 40
        assert Entry.objects.count() == 48 and Ledger.objects.get().entries == 48
        assert [drift for site in Site.objects.all() for drift in history.drift(site)] == []
        assert Member.objects.create_member("bela", "Bela").pk > ada.pk  # numbers go on where they were
        assert Client().login(username="ada", password="leaves and straw")


def test_numbers_that_postgresql_writes_otherwise_are_the_same(
    sent: list[dict[str, Any]], source: Database, target: Database
) -> None:
    """What forecasts keep is full of numbers, and a frosty week has a -0.0 among them."""
    bay, says = Bay.objects.order_by("pk")[0], {"low": [-0.0, 1e16, 1e23, 1e-7, 0.1, 3.0], "ready": {"share": 1.0}}
    KeptForecast.objects.create(bay=bay, batch="x", made_on=date(2026, 1, 7), says=says)
    KeptLesson.objects.create(site=bay.site, bay=bay, uid="y", key="z", ended_on=date(2026, 1, 8), says=says)
    call_command("move_up", postgres.url(target))
    with standing_on(target):
        for row in (KeptForecast.objects.get(), KeptLesson.objects.get()):
            assert [float(one) for one in row.says["low"]] == says["low"] and row.says["ready"] == says["ready"]


def test_the_file_stays_and_nothing_goes_on_with_it(
    sent: list[dict[str, Any]], source: Database, target: Database
) -> None:
    place = Path(source["NAME"])
    connection.close()
    before = place.read_bytes()
    call_command("move_up", postgres.url(target))
    assert place.read_bytes() == before
    done = subprocess.run(
        [sys.executable, "-c", "import cooperative.wsgi"], cwd=used.BASE_DIR, text=True, capture_output=True,
        env=os.environ | {"HEAPS_MODE": "test", "DATABASE_URL": f"sqlite:///{place}", "HEAPS_VAR": str(used.VAR_DIR),
                          "DJANGO_SETTINGS_MODULE": "cooperative.settings"}, check=False,
    )  # fmt: skip
    assert done.returncode and "These records have moved: to PostgreSQL, the database heaps_moved" in done.stderr
    with pytest.raises(CommandError, match="They have moved before"):
        call_command("move_up", postgres.url(target))


def test_a_database_with_anything_in_it_is_refused(sent: list[dict[str, Any]], target: Database) -> None:
    with closing(postgres.connected(target)) as base:
        base.execute("CREATE TABLE mine (number integer)")
    with pytest.raises(CommandError, match="is not empty: it has 1 tables"):
        call_command("move_up", postgres.url(target))
    _still_here(sent)


def test_what_differs_on_the_other_side_undoes_it(
    sent: list[dict[str, Any]], target: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = moving._fill

    def spoil(here: Database, there: Database) -> None:
        real(here, there)
        with closing(postgres.connected(there)) as base:
            base.execute("UPDATE heaps_daytotal SET wet_g = wet_g + 1")

    monkeypatch.setattr(moving, "_fill", spoil)
    with pytest.raises(
        CommandError, match=r"Not the same on both sides: heaps_daytotal, the year 2026/27(.|\n)*empty again"
    ):
        call_command("move_up", postgres.url(target))
    _still_here(sent)
    with standing_on(target):
        assert connection.introspection.table_names() == []


def test_a_file_that_is_not_whole_is_not_moved(sent: list[dict[str, Any]], target: Database) -> None:
    Entry.objects.filter(uid=sent[2]["uid"]).update(effective_at=timezone.now() - timedelta(days=900))
    with pytest.raises(CommandError, match=r"chain of the ledger is broken(.|\n)*Nothing was moved"):
        call_command("move_up", postgres.url(target))


def test_other_places_are_refused(sent: list[dict[str, Any]], target: Database) -> None:
    for url in ("sqlite:///elsewhere.sqlite3", "heaps", "postgres:///no_such_database"):
        with pytest.raises(CommandError, match=r"Say it like postgres://|PostgreSQL says"):
            call_command("move_up", url)
    with pytest.raises(CommandError, match="PostgreSQL's own database"):
        call_command("move_up", postgres.url(target | {"NAME": "postgres"}))
    _still_here(sent)


def _everything() -> moving._Told:
    return moving._told()


def _still_here(sent: list[dict[str, Any]]) -> None:
    assert not held.moved_to(Path(live()["NAME"]))
    assert Entry.objects.filter(uid__in=[uuid.UUID(raw["uid"]) for raw in sent]).count() == 6
    connection.close()
    with closing(sqlite3.connect(live()["NAME"])) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_full_disk_keeps_nobody_from_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(used.DATABASES["default"], "NAME", str(tmp_path / "heaps.sqlite3"))

    def full(*_said: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(held.os, "open", full)
    Opened.settings_dict = {"NAME": str(tmp_path / "heaps.sqlite3")}
    held.note_open(Opened())


class Opened:
    """A connection to SQLite, as Django tells of it."""

    vendor = "sqlite"
    settings_dict: ClassVar[dict[str, str]] = {}


def test_a_process_that_opens_a_moved_file_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "heaps.sqlite3"
    held.mark_of(place).write_text("to PostgreSQL, the database heaps, on 25 November 2026.")
    monkeypatch.setitem(used.DATABASES["default"], "NAME", str(place))
    Opened.settings_dict = {"NAME": str(place)}
    with pytest.raises(ImproperlyConfigured, match="These records have moved: to PostgreSQL"):
        held.note_open(Opened())
