"""What a database holds, and whether that is whole: counts, what was measured, the chain of the ledger, its totals."""

import uuid
from dataclasses import asdict, dataclass
from typing import Any

from django.db import Error, connection
from django.db.models import QuerySet

from heaps import history
from heaps.models import Bay, Entry, Ledger, Site
from heaps.sync import link
from heaps.wire import fingerprint_of, in_one_form

TABLES = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'",
    "postgresql": "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()",
}
#: What is known of an entry by its fingerprint, and by the chain.
TOLD = (
    "uid", "kind", "site_id", "bay_id", "occurred_at", "by_hand", "details", "effective_at", "received_at",
    "fingerprint", "chain",
)  # fmt: skip
MOST_TOLD = 5
MOST_REPLAYED = 50_000


@dataclass(frozen=True)
class Held:
    """What a database holds: rows of each table, the ledger's head, and the migrations it has been through."""

    tables: dict[str, int]
    entries: int
    chain: str
    epoch: str
    migrations: tuple[str, ...]

    def plain(self) -> dict[str, Any]:
        """As JSON has it."""
        return asdict(self)

    @classmethod
    def from_plain(cls, said: dict[str, Any]) -> "Held":
        return cls(**said | {"migrations": tuple(said["migrations"])})


def held(cursor: Any, vendor: str) -> Held:
    """What stands there, in one view of it: whoever asks has begun a transaction."""
    cursor.execute(TABLES[vendor])
    names = sorted(name for (name,) in cursor.fetchall())
    tables = {name: _one(cursor, f'SELECT count(*) FROM "{name}"')[0] for name in names}  # noqa: S608 - its own names
    entries, chain, epoch = _one(cursor, "SELECT entries, chain, epoch FROM heaps_ledger") or (0, "0" * 64, "")
    cursor.execute("SELECT app, name FROM django_migrations ORDER BY app, name")
    migrations = tuple(dict.fromkeys(f"{app}.{name}" for app, name in cursor.fetchall()))
    return Held(tables, entries, chain, uuid.UUID(str(epoch)).hex if epoch else "", migrations)


def held_here() -> Held:
    """What the database holds on which we stand."""
    with connection.cursor() as cursor:
        return held(cursor, connection.vendor)


def what_is_wrong(expected: Held | None) -> list[str]:
    """What is damaged or missing in the database on which we stand. `expected` is what its source held."""
    try:
        # what is damaged is not worth counting, and counting it may not end
        return _damage() or [*_differences(held_here(), expected), *_ledger_faults()]
    except Error as trouble:
        return [f"The file is damaged. {trouble}."]


def wrong_sums() -> list[str]:
    """Where stored states and totals differ from what the ledger's entries come to.

    States of a long ledger are left out: to replay that takes more memory than a small host may have.
    """
    found: list[str] = []
    for site in Site.objects.all():
        short = Entry.objects.filter(site=site).count() <= MOST_REPLAYED
        found += history.drift(site) if short else history.totals_drift(site)
    return [f"What is stored beside the ledger is wrong. {one}" for one in found[:MOST_TOLD]]


def _damage() -> list[str]:
    """SQLite looks through its whole file. PostgreSQL has built every key and index anew as it was filled."""
    if connection.vendor != "sqlite":
        return []
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA integrity_check({MOST_TOLD})")
        found = [f"The file is damaged. {said}" for (said,) in cursor.fetchall() if said != "ok"]
        if not found:
            cursor.execute("PRAGMA foreign_key_check")
            found = [f"A row of {row[0]} points at nothing in {row[2]}." for row in cursor.fetchmany(MOST_TOLD)]
    return found


def _differences(here: Held, expected: Held | None) -> list[str]:
    if expected is None:
        return []
    names = sorted(here.tables.keys() | expected.tables.keys())
    found = [
        f"{name} holds {here.tables.get(name, 'no')} rows, not {expected.tables.get(name, 'any')}."
        for name in names
        if here.tables.get(name) != expected.tables.get(name)
    ]
    if (here.entries, here.chain, here.epoch) != (expected.entries, expected.chain, expected.epoch):
        found.append("The ledger's head is another one.")
    return found


def _ledger_faults() -> list[str]:
    """Whether each entry is what it was, and all stand in the order in which they came."""
    head = Ledger.objects.values_list("entries", "chain").first() or (0, "0" * 64)
    chain, count = "0" * 64, 0
    sites, bays = (dict(model._default_manager.values_list("pk", "uid")) for model in (Site, Bay))
    rows: QuerySet[Any, Any] = Entry.objects.order_by("pk").values_list(*TOLD, named=True)
    for row in rows.iterator(chunk_size=2_000):
        where = str(sites[row.site_id]), str(bays[row.bay_id]) if row.bay_id else None
        moment, details = row.occurred_at.isoformat(), in_one_form(row.details)
        said = fingerprint_of(str(row.uid), row.kind, where, moment, row.by_hand, details)
        chain, count = link(chain, row), count + 1
        if said != row.fingerprint:
            return [f"Entry {row.uid} is not what was recorded."]
        if chain != row.chain:
            return [f"The chain of the ledger is broken at entry {row.uid}, number {count}."]
    if (count, chain) != head:
        return [f"The ledger holds {count} entries, and its head speaks of {head[0]}."]
    return []


def _one(cursor: Any, question: str) -> Any:
    cursor.execute(question)
    return cursor.fetchone()
