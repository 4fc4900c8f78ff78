"""Migrations only go forward, and every one of them meets a ledger that an earlier release wrote."""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from django.apps.registry import Apps
from django.core.management.sql import emit_post_migrate_signal
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from heaps import history
from heaps.models import Entry, Ledger, Site, climate_at
from heaps.science.climate import UK_LOWLAND
from heaps.sync import link
from members.models import Device

pytestmark = pytest.mark.ledger

#: What stood in the tables at a release: for each the migrations it had, and its rows as Django writes them out.
OLD_LEDGERS = sorted((Path(__file__).parent / "vectors" / "old_ledgers").glob("*.json"))


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("path", OLD_LEDGERS, ids=lambda path: path.stem)
def test_an_old_ledger_comes_through_to_the_grams(path: Path) -> None:
    old = json.loads(path.read_text())
    then = _migrate([(app, name) for app, name in old["migrations"]])
    for row in old["rows"]:
        _put(then, row)
    executor = MigrationExecutor(connection)
    _migrate(executor.loader.graph.leaf_nodes())
    emit_post_migrate_signal(verbosity=0, interactive=False, db="default")
    assert Entry.objects.count() == old["entries"]
    chain = "0" * 64
    for entry in Entry.objects.order_by("pk"):
        assert entry.chain == (chain := link(chain, entry))
    assert Ledger.objects.get().chain == chain
    for site in Site.objects.all():
        assert history.drift(site) == []
        assert climate_at(site.pk) == UK_LOWLAND


@pytest.mark.django_db(transaction=True)
def test_what_a_phone_last_spoke_of_is_dated_by_when_it_was_seen() -> None:
    then = _migrate([("members", "0005_erased")])
    seen = datetime(2026, 5, 1, tzinfo=UTC)
    someone = then.get_model("members.Member").objects.create(username="old", name="Old")
    said = {"member": someone, "label": "Android", "signed_in_at": seen, "last_seen_at": seen}
    for waiting in (None, 2):
        then.get_model("members.Device").objects.create(**said, waiting=waiting)
    _migrate(MigrationExecutor(connection).loader.graph.leaf_nodes())
    assert list(Device.objects.order_by("pk").values_list("waiting", "spoke_at")) == [(None, None), (2, seen)]


def test_there_is_an_old_ledger_to_migrate() -> None:
    assert OLD_LEDGERS


def _migrate(targets: list[tuple[str, str]]) -> Apps:
    executor = MigrationExecutor(connection)
    executor.migrate(targets)
    return MigrationExecutor(connection).loader.project_state(targets).apps


def _put(then: Apps, row: dict[str, Any]) -> None:
    model = then.get_model(row["model"])
    fields = {model._meta.get_field(name).attname: value for name, value in row["fields"].items()}
    model.objects.create(pk=row["pk"], **fields)
