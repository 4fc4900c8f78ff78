"""The page of copies, and the warning that finds whoever looks after everything."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import Settings

from cooperative.backups import shelf
from cooperative.backups.proof import Held
from members.models import Member

OPENS = Callable[[Member | None], Client]
NOW = datetime(2026, 5, 1, 12, tzinfo=UTC)
TABLES = {"heaps_site": 3, "heaps_bay": 21, "members_member": 40, "heaps_parked": 2}
SLIP = shelf.Slip(
    "heaps-20260501T041000Z.sqlite3", "/srv/heaps/var/backups", NOW, 1.5, 5_300_000, "0" * 64,
    Held(TABLES, 4_712, "0" * 64, "0" * 32, ("heaps.0001_first",)), 40,
)  # fmt: skip


@pytest.fixture(autouse=True)
def folder(settings: Settings, tmp_path: Path) -> Iterator[Path]:
    settings.BACKUP_DIR = tmp_path / "backups"
    yield settings.BACKUP_DIR


def shown(client_of: OPENS, person: Member, address: str) -> str:
    answer = client_of(person).get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_page_says_when_how_large_and_what_it_holds(client_of: OPENS, coordinator: Member) -> None:
    shelf.note_proven(replace(SLIP, made_at=timezone.now()))
    page = shown(client_of, coordinator, "/set-up/backups/")
    for said in ("4712 entries", "2 entries laid aside", "3 sites", "21 bays", "40 people", "5.1\xa0MB", SLIP.file):
        assert said in page, said
    assert "Tell whoever looks after" not in page
    assert "When the last copy was made" in shown(client_of, coordinator, "/set-up/")
    assert "copy of the records" not in shown(client_of, coordinator, "/")


def test_two_days_without_one_are_warned_of(client_of: OPENS, administrator: Member, member: Member) -> None:
    shelf.note_proven(replace(SLIP, made_at=timezone.now() - timedelta(days=2, minutes=1)))
    for address in ("/", "/set-up/", "/set-up/backups/"):
        assert "! The last copy of the records is 2 days old." in shown(client_of, administrator, address).replace(
            "<strong>", ""
        )
    assert "copy of the records" not in shown(client_of, member, "/")
    shelf.note_proven(replace(SLIP, made_at=timezone.now() - timedelta(days=1, hours=23)))
    assert "copy of the records" not in shown(client_of, administrator, "/")


def test_one_that_failed_is_warned_of_with_its_reason(client_of: OPENS, administrator: Member, steward: Member) -> None:
    shelf.note_proven(replace(SLIP, made_at=timezone.now()))
    shelf.note_failed(timezone.now(), "heaps_entry holds 3 rows, not 4.\nThe copy is <b>not</b> whole.")
    page = shown(client_of, administrator, "/set-up/backups/")
    assert "The last copy of the records failed." in page
    assert "heaps_entry holds 3 rows, not 4.<br>The copy is &lt;b&gt;not&lt;/b&gt; whole." in page
    assert "4712 entries" in page  # the good one before is still told of
    assert "! The last copy of the records failed." in shown(client_of, administrator, "/")
    assert "copy of the records" not in shown(client_of, steward, "/")


def test_none_at_all_is_warned_of_once_people_have_been_here_for_two_days(
    client_of: OPENS, administrator: Member, settings: Settings
) -> None:
    assert "copy of the records" not in shown(client_of, administrator, "/")
    Member.objects.update(joined_at=timezone.now() - timedelta(days=3))
    assert "! No copy of the records has been made yet." in shown(client_of, administrator, "/")
    assert "There is no good copy yet." in shown(client_of, administrator, "/set-up/backups/")
    settings.MODE = "demo"
    assert "copy of the records" not in shown(client_of, administrator, "/")


def test_a_record_that_cannot_be_read_is_none(folder: Path) -> None:
    shelf.note_proven(SLIP)
    assert shelf.record() == shelf.Record(SLIP)
    (folder / shelf.RECORD).write_text('{"proven": [')
    assert shelf.record() == shelf.Record()
