"""A database of its own, with real commits, on whichever engine the tests run on; and a folder for its copies."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_django import Settings

from cooperative.backups import sqlite
from cooperative.backups.making import engine_of
from cooperative.backups.standing import Database, live, standing_on
from heaps.models import Bay, Site
from heaps.sync import head
from members.models import Cooperative, Member


@pytest.fixture
def backups(settings: Settings, tmp_path: Path) -> Path:
    """Where copies go."""
    settings.BACKUP_DIR = tmp_path / "backups"
    return tmp_path / "backups"


@pytest.fixture
def own(db: None, backups: Path, tmp_path: Path) -> Iterator[Database]:
    """We stand on a migrated database that holds nothing but a head of its ledger. Gone afterwards."""
    empty = tmp_path / "empty"
    empty.touch(0o600)
    engine = engine_of(live())
    engine.take(live(), empty)
    place = {**live(), "NAME": str(tmp_path / "heaps.sqlite3")} if engine is sqlite else live()
    with engine.brought_back(empty, place, "own") as database, standing_on(database):
        head()
        yield database


@pytest.fixture
def people(own: Database) -> dict[str, Member]:
    """A site with two bays, a coordinator and a member."""
    Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40)
    site = Site.objects.create(name="Lane Side")
    for position in (1, 2):
        Bay.objects.create(
            site=site, name=f"Bay {position}", position=position, length_cm=100, width_cm=100, height_cm=100
        )
    return {
        "ada": Member.objects.create_member("ada", "Ada", "leaves and straw"),
        "cleo": Member.objects.create_member("cleo", "Cleo", "leaves and straw", is_coordinator=True),
        "edda": Member.objects.create_member("edda", "Edda", "leaves and straw", is_administrator=True),
    }
