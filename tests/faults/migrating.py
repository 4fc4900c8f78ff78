"""Brings an old ledger up to date, and is killed at every statement of every migration on the way.

After each kill the tables are as before it, so that the migration begins anew, or as after it, when its commit had come
through. To be run in a process of its own, because it forks: `python -m tests.faults.migrating LEDGER.json EVERY`.
"""

import json
import os
import sys
from itertools import count, takewhile
from pathlib import Path
from typing import Any

import django

django.setup()

from django.core.management import call_command  # noqa: E402 - Django must stand first
from django.db import connections  # noqa: E402 - Django must stand first
from django.db.migrations.executor import MigrationExecutor  # noqa: E402 - Django must stand first
from django.db.migrations.recorder import MigrationRecorder  # noqa: E402 - Django must stand first

from cooperative.management.commands.migrate import WholeMigrations  # noqa: E402 - Django must stand first
from tests.points import Points  # noqa: E402 - Django must stand first

OURS = ("heaps", "members")
connection = connections["default"]  # itself, not what stands for it: its commit is watched


def main(ledger: Path, every: int) -> None:
    lay(json.loads(ledger.read_text()))
    killed = seen = 0
    executor = MigrationExecutor(connection)
    plan = [one for one, _backwards in executor.migration_plan(executor.loader.graph.leaf_nodes())]
    for migration in plan:
        stride = every if migration.app_label in OURS else 10_000
        before = picture()
        for point in count(1 + seen % stride, stride):
            if not dies(point, lambda one=migration: apply(one)):
                seen += point
                break
            killed += 1
            if (migration.app_label, migration.name) in MigrationRecorder(connection).applied_migrations():
                seen += point
                break  # killed after its commit: all of it is there
            if (after := picture()) != before:
                sys.exit(f"{migration} killed at point {point} left something: {before ^ after}")
        connection.close()
    killed += after_migrations(every)
    sys.stdout.write(f"{killed} kills in {len(plan)} migrations\n")


def after_migrations(every: int) -> int:
    """What `migrate` does when the last is in: states made anew, kinds of rows noted. Killed there, it is run again."""
    points = takewhile(lambda point: dies(point, lambda: call_command("migrate", verbosity=0)), count(1, every))
    return sum(1 for _point in points)


def dies(point: int, work: Any) -> bool:
    """Whether the process that works is killed at that point, rather than coming to its end."""
    connection.close()
    child = os.fork()
    if not child:
        connection.ensure_connection()
        with Points(connection, point):
            work()
        connection.close()
        os._exit(0)
    _child, status = os.waitpid(child, 0)
    if status and not os.WIFSIGNALED(status):
        sys.exit("a migration failed by itself")
    return os.WIFSIGNALED(status)


def apply(migration: Any) -> None:
    WholeMigrations(connection).migrate([(migration.app_label, migration.name)])


def picture() -> set[str]:
    """Tables, columns, indexes, how many rows each has, and which migrations are noted."""
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        found = set()
        for table in tables:
            cursor.execute(f'select count(*) from "{table}"')
            found.add(f"{table}: {cursor.fetchone()[0]} rows")
            found |= {f"{table}: {one}" for one in connection.introspection.get_table_description(cursor, table)}
            constraints = connection.introspection.get_constraints(cursor, table)
            found |= {f"{table}: {name} {sorted(said['columns'] or [])}" for name, said in constraints.items()}
    connection.close()
    return found


def lay(old: dict[str, Any]) -> None:
    """The tables and rows of a release."""
    targets = [(app, name) for app, name in old["migrations"]]
    executor = MigrationExecutor(connection)
    executor.migrate(targets)
    then = MigrationExecutor(connection).loader.project_state(targets).apps
    for row in old["rows"]:
        model = then.get_model(row["model"])
        fields = {model._meta.get_field(name).attname: value for name, value in row["fields"].items()}
        model.objects.create(pk=row["pk"], **fields)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
