"""A copy comes back in the place of a database that is kept; phones may offer again, and nobody comes back in."""

import shutil
import sqlite3
import uuid
from contextlib import closing
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from cooperative import leaving
from cooperative.backups import Trouble, erased, lost, shelf
from cooperative.backups import sqlite as sqlite_copies
from cooperative.backups.access import AS_IN_THE_COPY
from cooperative.backups.making import engine_of, make
from cooperative.backups.restoring import Restored, restore
from cooperative.backups.standing import Database, live, standing_on
from heaps import donors, history
from heaps.models import Bay, Donor, Entry, Ledger, Site, Stewardship
from heaps.sync import Sending, accept
from members.models import Device, Erased, Member, Passkey, Session, Ticket
from tests.sendings import load, send, states

pytestmark = pytest.mark.ledger


@pytest.fixture
def before(people: dict[str, Member]) -> list[dict[str, Any]]:
    """What the copy will hold: two loads by Ada."""
    raws = [load(Bay.objects.get(name="Bay 1"), minutes=minute) for minute in range(2)]
    send(raws, people["ada"])
    return raws


@pytest.fixture
def copy(before: list[dict[str, Any]], backups: Path) -> Path:
    return backups / make(None, 35, timezone.now()).file


@pytest.fixture
def after(copy: Path, people: dict[str, Member]) -> list[dict[str, Any]]:
    """What came in since: three loads by phone, one on a page."""
    bay, now = Bay.objects.get(name="Bay 2"), timezone.now()
    raws = [load(bay, minutes=minute, count=6) for minute in range(10, 14)]
    phone = Sending(people["ada"], uuid.uuid4(), sent_at=now, received_at=now)
    page = Sending(people["cleo"], None, sent_at=now, received_at=now)
    assert states([*accept(raws[:3], phone), *accept(raws[3:], page)]) == ["accepted"] * 4
    return raws


def brought_back(copy: Path) -> Restored:
    done = restore(copy, timezone.now())
    connection.close()
    return done


def test_what_phones_still_hold_comes_back_once(
    copy: Path, before: list[dict[str, Any]], after: list[dict[str, Any]], people: dict[str, Member]
) -> None:
    was = Ledger.objects.get()
    done = brought_back(copy)
    now = Ledger.objects.get()
    assert (was.entries, now.entries, done.held.entries) == (6, 2, 2)
    assert now.epoch != was.epoch
    assert states(send([*before, *after[:3]], people["ada"])) == ["known"] * 2 + ["accepted"] * 3
    assert Entry.objects.count() == 5
    assert history.drift(Site.objects.get()) == []


def test_what_no_phone_may_hold_is_listed_and_asked_for_again(
    copy: Path, after: list[dict[str, Any]], people: dict[str, Member], backups: Path
) -> None:
    Entry.objects.filter(uid=after[0]["uid"]).update(received_at=timezone.now() - timedelta(days=36))
    Member.objects.create_member("zed", "Zed")
    said = StringIO()
    call_command("restore", str(copy), stdout=said)
    connection.close()
    assert "Brought back: 2 entries" in said.getvalue() and "offers again what it sent" in said.getvalue()
    assert "2 entries that came by a phone; phones offer them again" in said.getvalue()
    assert "1 entries that came by a phone, too long ago; no phone may hold them" in said.getvalue()
    assert "1 entries that came by a page or a file; no phone may hold them" in said.getvalue()
    assert "1 members that were set up since" in said.getvalue()
    (table,) = backups.glob("lost-*.csv")
    assert len(lost.still_missing(table.read_text())) == 4 and "Ada" not in table.read_text()
    send(after[1:3], people["ada"])
    said = StringIO()
    call_command("restore", str(table), still_missing=True, stdout=said)
    assert "2 of that list have not come back" in said.getvalue()
    assert after[0]["uid"] in said.getvalue() and after[3]["uid"] in said.getvalue()


def test_the_old_database_is_kept_whole(copy: Path, after: list[dict[str, Any]]) -> None:
    chain = Ledger.objects.get().chain
    done = brought_back(copy)
    with standing_on(engine_of(live()).kept_database(live(), done.kept)):
        assert Ledger.objects.get().chain == chain and Entry.objects.count() == 6
    if connection.vendor == "sqlite":
        assert Path(done.kept).stat().st_mode & 0o077 == 0 and "before-" in done.kept


@pytest.mark.sqlite
def test_nothing_that_lay_beside_the_old_file_is_left_beside_the_new_one(
    copy: Path, after: list[dict[str, Any]]
) -> None:
    place = Path(live()["NAME"])
    connection.close()
    place.write_bytes(b"not a database any more" * 100)
    for side in ("-journal", "-wal", "-shm"):
        place.with_name(place.name + side).write_bytes(b"stale" * 100)
    done = brought_back(copy)
    assert done.lost is None and AS_IN_THE_COPY in done.remarks
    for side in ("-journal", "-wal", "-shm"):
        assert not place.with_name(place.name + side).exists()
    assert Entry.objects.count() == 2
    assert connection.cursor().execute("PRAGMA integrity_check").fetchall() == [("ok",)]


@pytest.mark.sqlite
def test_side_files_go_with_the_database_that_they_belong_to(own: Database, tmp_path: Path) -> None:
    old, new = tmp_path / "place.sqlite3", tmp_path / "new.sqlite3"
    for path in (old, new, *(Path(f"{old}{side}") for side in sqlite_copies.SIDE_FILES)):
        path.write_text(path.name)
    kept = sqlite_copies.put_in_place({"NAME": str(new)}, {"NAME": str(old)}, "before")
    assert old.read_text() == "new.sqlite3" and Path(kept).read_text() == "place.sqlite3"
    for side in sqlite_copies.SIDE_FILES:
        assert Path(kept + side).read_text() == f"place.sqlite3{side}"
        assert not Path(f"{old}{side}").exists()


@pytest.mark.sqlite
def test_what_a_killed_writer_left_half_done_is_undone_in_what_is_kept(copy: Path, after: list[dict[str, Any]]) -> None:
    place = Path(live()["NAME"])
    connection.close()
    with closing(sqlite3.connect(place, isolation_level=None)) as writer:
        writer.execute("PRAGMA cache_size=1")
        writer.execute("BEGIN IMMEDIATE")
        writer.execute("UPDATE heaps_entry SET words = hex(randomblob(9000))")
        killed = place.with_name("killed")
        for side in ("", "-journal"):
            shutil.copy(place.with_name(place.name + side), killed.with_name(killed.name + side))
        writer.execute("ROLLBACK")
    for side in ("", "-journal"):
        killed.with_name(killed.name + side).replace(place.with_name(place.name + side))
    done = brought_back(copy)
    with closing(sqlite3.connect(done.kept)) as kept:
        assert kept.execute("SELECT count(*) FROM heaps_entry WHERE words <> ''").fetchone() == (0,)
        assert kept.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_whoever_no_longer_looks_after_a_site_does_not_again(people: dict[str, Member], backups: Path) -> None:
    site = Site.objects.get()
    for name in ("ada", "cleo"):
        Stewardship.objects.create(site=site, member=people[name])
    copy = backups / make(None, 35, timezone.now()).file
    Stewardship.objects.get(member=people["ada"]).delete()
    done = brought_back(copy)
    assert [one.member.username for one in Stewardship.objects.select_related("member")] == ["cleo"]
    assert "Roles or ways in taken since the copy stay taken: ada." in done.remarks


def test_whoever_was_erased_since_stays_erased(
    copy: Path, after: list[dict[str, Any]], people: dict[str, Member]
) -> None:
    leaving.erase(people["cleo"].pk)
    leaving.erase(people["ada"].pk)
    done = brought_back(copy)
    assert done.erased == 2
    assert set(Member.objects.values_list("username", flat=True)) == {"edda"}
    assert not Entry.objects.exclude(person=None, device=None).exists()
    assert Erased.objects.filter(of=Erased.digest("person", people["ada"].uid)).exists()
    assert history.drift(Site.objects.get()) == []


def test_somebody_who_gives_and_was_erased_stays_erased(before: list[dict[str, Any]], backups: Path) -> None:
    stable = Donor.objects.create(kind="stable", organisation="Hobb Stables", contact="Kit at the gate")
    cafe = Donor.objects.create(kind="cafe", organisation="Blue Door", contact="Jo")
    copy = backups / make(None, 35, timezone.now()).file
    donors.erase(stable)
    donors.erase_contact(cafe)
    brought_back(copy)
    assert set(Donor.objects.values_list("organisation", "contact")) == {("", ""), ("Blue Door", "")}


def test_the_list_beside_the_copies_serves_where_the_old_database_is_gone(
    copy: Path, people: dict[str, Member], tmp_path: Path
) -> None:
    Erased.note("person", people["ada"].uid)
    erased.write_list()
    new_host = live() | {"NAME": str(tmp_path / "new.sqlite3") if connection.vendor == "sqlite" else "heaps_new_host"}
    carried = tmp_path / "carried"
    carried.mkdir()
    for name in (copy.name, erased.LIST):
        shutil.copy(copy.parent / name, carried / name)
    (copy.parent / erased.LIST).unlink()
    with standing_on(new_host):
        done = restore(carried / copy.name, timezone.now())
        assert (done.kept, done.erased, done.lost) == ("", 1, None)
        assert set(Member.objects.values_list("username", flat=True)) == {"cleo", "edda"}
        connection.close()
    if connection.vendor == "postgresql":
        engine_of(live())._drop(new_host)


def test_the_last_administrator_may_go_too_and_it_is_said(copy: Path, people: dict[str, Member]) -> None:
    Member.objects.filter(username="cleo").update(is_administrator=True)
    leaving.erase(people["edda"].pk)
    done = brought_back(copy)
    assert any("set_up_link" in remark for remark in done.remarks)
    assert not Member.objects.filter(username="edda").exists()


def test_nobody_comes_back_in_who_was_shut_out_since(people: dict[str, Member], backups: Path) -> None:
    now = timezone.now()
    ada = people["ada"]
    lost_phone = Device.objects.create(member=ada, label="Android, Chrome", signed_in_at=now, last_seen_at=now)
    kept_phone = Device.objects.create(member=ada, label="iPhone, Safari", signed_in_at=now, last_seen_at=now)
    for key, device in (("lost", lost_phone), ("kept", kept_phone)):
        Session.objects.create(session_key=key, session_data="", expire_date=now + timedelta(days=9), device=device)
    for number in ("one", "two"):
        Passkey.objects.create(member=ada, credential_id=number, public_key=b"", label="", made_at=now)
    Ticket.objects.create(first_word="a", other_words="!", link="l", made_at=now, ends_at=now + timedelta(days=7))
    copy = backups / make(None, 35, now).file
    Session.objects.filter(session_key="lost").delete()
    Passkey.objects.filter(credential_id="one").delete()
    Member.objects.filter(username="cleo").update(is_coordinator=False)
    Member.objects.filter(username="edda").update(password="another")
    done = brought_back(copy)
    assert list(Session.objects.values_list("session_key", flat=True)) == ["kept"]
    assert Device.objects.get(pk=lost_phone.pk).ended_at and not Device.objects.get(pk=kept_phone.pk).ended_at
    assert list(Passkey.objects.values_list("credential_id", flat=True)) == ["two"]
    assert not Ticket.objects.exists()
    assert not Member.objects.get(username="cleo").is_coordinator
    assert Member.objects.get(username="edda").password == "another"
    assert any("cleo" in remark for remark in done.remarks)


def test_a_copy_of_an_older_release_is_brought_up(before: list[dict[str, Any]], backups: Path) -> None:
    MigrationExecutor(connection).migrate([("members", "0004_words_as_proof")])
    place = backups / "old"
    place.mkdir(parents=True)
    (place / "empty").touch()
    engine = engine_of(live())
    engine.take(live(), place / "empty")
    brought_back(place / "empty")
    assert Entry.objects.count() == 2 and not Erased.objects.exists()


def test_a_slip_reads_back_as_it_was_written(copy: Path) -> None:
    slip = shelf.slip_of(copy)
    assert slip and shelf.Slip.from_plain(slip.plain()) == slip
    with pytest.raises(Trouble), shelf.one_at_a_time(), shelf.one_at_a_time():
        raise AssertionError("two at once")
