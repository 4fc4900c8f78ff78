"""Migrations only go forward, and every one of them meets a ledger that an earlier release wrote."""

import json
from pathlib import Path
from typing import Any

import pytest
from django.apps.registry import Apps
from django.core.management.sql import emit_post_migrate_signal
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from heaps import history
from heaps.models import Entry, Ledger, Site
from heaps.sync import link

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
