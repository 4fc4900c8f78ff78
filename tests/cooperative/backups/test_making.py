"""A copy counts once it has been brought back elsewhere and compared; anything else is said loudly."""

import os
import resource
import sqlite3
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from cooperative.backups import Trouble, making, shelf
from cooperative.backups.making import engine_of, make
from cooperative.backups.standing import Database, live, standing_on
from heaps.models import Bay, Entry, Ledger
from members.models import Member
from tests.sendings import correction, load, send

pytestmark = pytest.mark.ledger


@pytest.fixture
def loads(people: dict[str, Member]) -> list[dict[str, Any]]:
    """Three loads, one of them taken back."""
    bay = Bay.objects.get(name="Bay 1")
    raws = [load(bay, minutes=minute, words="by the gate") for minute in range(3)]
    send([*raws, correction(bay.site, raws[1]["uid"])], people["ada"])
    return raws


def test_a_copy_holds_everything_and_is_the_owners_alone(loads: list[dict[str, Any]], backups: Path) -> None:
    slip = make(None, 35, timezone.now())
    copy = backups / slip.file
    assert (slip.held.entries, slip.people, slip.held.tables["heaps_entry"]) == (4, 3, 4)
    assert slip.held.chain == Ledger.objects.get().chain
    assert slip.bytes == copy.stat().st_size and slip.sha256 == shelf.digest(copy)
    assert shelf.record().proven == slip == shelf.slip_of(copy)
    assert sorted(path.name for path in backups.iterdir()) == sorted(
        [copy.name, copy.with_suffix(".json").name, "record.json", "erased.txt", "lock"]
    )
    for path in backups.iterdir():
        assert stat.S_IMODE(path.stat().st_mode) == 0o600, path
    assert stat.S_IMODE(backups.stat().st_mode) == 0o700
    with engine_of(live()).brought_back(copy, live(), "seen") as database, standing_on(database):
        assert Entry.objects.filter(words="by the gate").count() == 3


@pytest.mark.sqlite
def test_what_was_deleted_is_not_left_lying_in_a_copy(loads: list[dict[str, Any]], backups: Path) -> None:
    connection.cursor().execute("PRAGMA secure_delete=OFF")
    Member.objects.create_member("zed", "Zebedee the Unmistakable", "leaves and straw").delete()
    assert b"Unmistakable" in Path(live()["NAME"]).read_bytes()
    slip = make(None, 35, timezone.now())
    assert b"Unmistakable" not in (backups / slip.file).read_bytes()


DAMAGES = {
    "a row less": ("DELETE FROM members_member WHERE username = 'cleo'", "members_member holds 2 rows, not 3"),
    "an entry changed": ("UPDATE heaps_entry SET details = replace(details, '4', '6')", "is not what was recorded"),
    "an entry moved in time": (
        "UPDATE heaps_entry SET effective_at = '2026-05-01 11:00:00' WHERE id = (SELECT min(id) + 1 FROM heaps_entry)",
        "The chain of the ledger is broken at entry",
    ),
    "the last entry gone": (
        "DELETE FROM heaps_entry WHERE id = (SELECT max(id) FROM heaps_entry)",
        "The ledger holds 3 entries, and its head speaks of 4",
    ),
    "a sum changed": ("UPDATE heaps_daytotal SET wet_g = wet_g + 1", "What is stored beside the ledger is wrong"),
    "a load nowhere": (
        "UPDATE heaps_entry SET site_id = 77 WHERE id = (SELECT min(id) FROM heaps_entry)",
        "points at nothing in heaps_site",
    ),
}


@pytest.mark.sqlite
@pytest.mark.parametrize("damage", DAMAGES)
def test_a_copy_that_is_not_whole_is_named_and_kept_apart(
    damage: str, loads: list[dict[str, Any]], backups: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done, says = DAMAGES[damage]

    def damage_it(copy: Path) -> None:
        with closing(sqlite3.connect(copy)) as file, file:
            file.executescript(done)

    _after_taking(monkeypatch, damage_it)
    good = _refused(says, backups)
    assert good == []


@pytest.mark.sqlite
def test_a_nothing_made_infinite_is_not_what_was_recorded(
    people: dict[str, Member], loads: list[dict[str, Any]], backups: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A quick way to write JSON has the same word for both."""
    bay = Bay.objects.get(name="Bay 1")
    instead = {"kind": "dropoff", "bay": str(bay.uid), "details": loads[2]["details"] | {"half_containers": 2}}
    send([correction(bay.site, loads[2]["uid"], "instead", **instead)], people["ada"])

    def damage_it(copy: Path) -> None:
        with closing(sqlite3.connect(copy)) as file, file:
            file.execute("UPDATE heaps_entry SET details = replace(details, 'null', '1e999')")
            assert file.execute("SELECT changes()").fetchone() == (5,)

    _after_taking(monkeypatch, damage_it)
    assert _refused("is not what was recorded", backups) == []


@pytest.mark.sqlite
def test_a_copy_with_spoilt_pages_is_kept_apart(
    loads: list[dict[str, Any]], backups: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def spoil(copy: Path) -> None:
        with closing(sqlite3.connect(copy)) as file:
            (page,) = file.execute("SELECT rootpage FROM sqlite_master WHERE name = 'heaps_entry'").fetchone()
            (size,) = file.execute("PRAGMA page_size").fetchone()
        with copy.open("r+b") as file_:
            file_.seek((page - 1) * size)
            file_.write(b"\xff" * 600)

    _after_taking(monkeypatch, spoil)
    assert _refused("damaged", backups) == []


def test_a_copy_that_holds_something_else_than_its_source_is_kept_apart(
    loads: list[dict[str, Any]], backups: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = engine_of(live())
    real = engine.take

    def forgets(source: Database, target: Path) -> Any:
        held = real(source, target)
        return replace(held, tables=held.tables | {"heaps_bay": held.tables["heaps_bay"] + 1})

    monkeypatch.setattr(engine, "take", forgets)
    assert _refused("heaps_bay holds 2 rows, not 3", backups) == []


def test_one_good_copy_stays_the_last_proven_one_when_the_next_fails(
    loads: list[dict[str, Any]], backups: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    slip = make(None, 35, timezone.now())
    monkeypatch.setattr(making.proof, "wrong_sums", lambda: ["What is stored beside the ledger is wrong."])
    (kept,) = _refused("What is stored beside the ledger is wrong.", backups)
    assert kept.name == slip.file and shelf.record().proven == slip
    monkeypatch.undo()
    settings.BACKUP_DIR = backups
    again = make(None, 35, timezone.now() + timedelta(seconds=5))
    assert shelf.record() == shelf.Record(again)


def test_only_so_many_are_kept(loads: list[dict[str, Any]], backups: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "disk"
    (elsewhere).mkdir()
    (elsewhere / "heaps-notes.txt").write_text("mine")
    first = timezone.now()
    slips = [make(elsewhere, 2, first + timedelta(seconds=number)) for number in range(3)]
    assert [path.name for path in shelf.copies(elsewhere)] == [slips[2].file, slips[1].file]
    assert (elsewhere / "heaps-notes.txt").exists() and (elsewhere / "erased.txt").exists()
    assert shelf.record().proven == slips[2] and not shelf.copies(backups)


def test_two_at_once_do_not_meet(loads: list[dict[str, Any]], backups: Path) -> None:
    with shelf.one_at_a_time(), pytest.raises(Trouble, match="just now"):
        make(None, 35, timezone.now())


def test_what_a_killed_run_left_is_cleared_and_never_taken_for_a_copy(
    loads: list[dict[str, Any]], backups: Path
) -> None:
    backups.mkdir()
    for left in ("heaps-20260101T010101Z.part", "heaps-20260101T010101Z.part.rough"):
        (backups / left).write_bytes(b"half")
    assert shelf.copies(backups) == []
    make(None, 35, timezone.now())
    assert not list(backups.glob("*.part*"))


@pytest.mark.postgresql
def test_without_its_programs_postgresql_says_what_to_install(
    loads: list[dict[str, Any]], backups: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(CommandError, match="apt install postgresql-client"):
        call_command("backup")


WRITER = """
import select, sys, time, uuid
import django; django.setup()
from django.utils import timezone
from heaps.models import Bay
from heaps.sync import Sending, accept
from members.models import Member
from tests.sendings import load
bay, person = Bay.objects.first(), Member.objects.first()
done = failed = 0
began = time.monotonic()
while not select.select([sys.stdin], [], [], 0)[0]:
    now = timezone.now()
    try:
        raws = [load(bay, occurred_at=now.isoformat()) for _ in range(5)]
        receipts = accept(raws, Sending(person, uuid.uuid4(), sent_at=now))
        done += sum(receipt.state == "accepted" for receipt in receipts)
    except Exception as trouble:
        failed += 5
        print(trouble, file=sys.stderr)
    print(done, failed, flush=True)
    time.sleep(max(0, began + (done + failed) / 50 - time.monotonic()))
"""


def test_copies_are_made_while_fifty_entries_a_second_come_in(people: dict[str, Member], backups: Path) -> None:
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER], cwd=settings.BASE_DIR, env=environment(live()),
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert writer.stdin and writer.stdout and writer.stdout.readline() == "5 0\n"
    slips = [make(None, 35, timezone.now() + timedelta(seconds=number)) for number in range(2)]
    while Entry.objects.count() == slips[-1].held.entries:
        assert writer.poll() is None
        time.sleep(0.05)
    writer.stdin.close()
    done, failed = map(int, writer.stdout.read().split()[-2:])
    writer.wait()
    writer.stdout.close()
    assert failed == 0 and Entry.objects.count() == done
    for slip in slips:
        assert 0 < slip.held.entries < done
        assert Entry.objects.order_by("pk")[slip.held.entries - 1].chain == slip.held.chain


def test_a_full_disk_is_said_loudly_and_leaves_nothing_that_looks_whole(
    loads: list[dict[str, Any]], backups: Path, tmp_path: Path
) -> None:
    first = make(None, 35, timezone.now())
    for room in (40_000, first.bytes - 1):  # as large as a file may grow: full in the middle, at the end
        done = subprocess.run(
            [sys.executable, "-m", "django", "backup"], cwd=settings.BASE_DIR, text=True, capture_output=True,
            env=environment(live()) | {"HEAPS_VAR": str(tmp_path)}, check=False,
            preexec_fn=lambda room=room: resource.setrlimit(resource.RLIMIT_FSIZE, (room, room)),
        )  # fmt: skip
        assert done.returncode == 1 and "NO COPY WAS MADE" in done.stderr, done.stderr
        assert [path.name for path in shelf.copies(backups)] == [first.file]
        assert not list(backups.glob("*.part*")) and not list(backups.glob("*.new"))
        assert shelf.record().proven == first


def environment(database: Database) -> dict[str, str]:
    """What a process is told that works on the same database."""
    return os.environ | {
        "HEAPS_MODE": "test", "DJANGO_SETTINGS_MODULE": "cooperative.settings", "HEAPS_VAR": str(settings.VAR_DIR),
        "DATABASE_URL": making.engine_of(database).url(database),
    }  # fmt: skip


def _after_taking(monkeypatch: pytest.MonkeyPatch, act: Callable[[Path], None]) -> None:
    engine = engine_of(live())
    real = engine.take

    def take(source: Database, target: Path) -> Any:
        held = real(source, target)
        act(target)
        return held

    monkeypatch.setattr(engine, "take", take)


def _refused(says: str, backups: Path) -> list[Path]:
    """The command says so and ends with 1; what is not whole lies apart. The copies that there are."""
    with pytest.raises(CommandError, match=r"NO COPY WAS MADE(.|\n)*kept apart") as said:
        call_command("backup")
    assert said.value.returncode == 1 and says in str(said.value)
    known = shelf.record()
    assert known.failed_at and says in known.why
    (bad,) = (backups / shelf.NOT_WHOLE).glob("*.bad")
    assert says in bad.with_suffix(".txt").read_text() and str(bad) in str(said.value)
    assert stat.S_IMODE(bad.stat().st_mode) == 0o600
    return shelf.copies(backups)
