"""PostgreSQL: a dump of one snapshot, brought back as a database beside the live one, put in its place by its name."""

import os
import shutil
import subprocess
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from time import monotonic, sleep
from typing import Any
from urllib.parse import quote, urlencode

import psycopg
from psycopg import sql

from cooperative.backups import STOP_THEM, Trouble
from cooperative.backups.proof import Held
from cooperative.backups.proof import held as held_by
from cooperative.backups.standing import Database

SUFFIX, BEGINS_WITH = ".dump", b"PGDMP"
#: Where one stands to make, name or drop a database.
ELSEWHERE = "postgres"
NO_RIGHT = (
    "This user of PostgreSQL may make no database, which is needed to bring a copy back and look at it.\n"
    "  runuser -u postgres -- psql -c 'ALTER ROLE {user} CREATEDB'"
)
#: As the live one sorts, or, where there is none yet, as the server does.
LOCALE = "SELECT datcollate, datctype FROM pg_database WHERE datname IN (%s, 'postgres') ORDER BY datname = 'postgres'"
#: Without PostgreSQL's own cleaning, which is nobody's and makes way by itself when a database is renamed.
OTHERS = "SELECT count(*) FROM pg_stat_activity WHERE datname = %s AND usesysid IS NOT NULL"
#: As long as PostgreSQL itself waits for others before it refuses to rename a database (CountOtherDBBackends).
PATIENCE_S = 5.0
VARIABLES = {"NAME": "PGDATABASE", "USER": "PGUSER", "PASSWORD": "PGPASSWORD", "HOST": "PGHOST", "PORT": "PGPORT"}


def take(live: Database, target: Path) -> Held:
    """Dump into the file `target` what one snapshot shows, and say what it held. Nobody waits for it."""
    with closing(connected(live)) as base:
        base.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        snapshot = str(_one(base, "SELECT pg_export_snapshot()"))
        found = held_by(base.cursor(), "postgresql")
        options = ["--format=custom", "--no-owner", "--no-privileges", f"--snapshot={snapshot}", f"--file={target}"]
        _run("pg_dump", options, live)
    with target.open("rb") as file:
        os.fsync(file.fileno())
    return found


@contextmanager
def brought_back(copy: Path, live: Database, name: str) -> Iterator[Database]:
    """The copy as a database of its own on the same server; dropped afterwards, unless it was put in place."""
    place = live | {"NAME": f"{live['NAME']}.{name}"}
    _drop(place)
    try:
        with closing(connected(live, ELSEWHERE)) as base:
            collate, ctype = base.execute(LOCALE, [live["NAME"]]).fetchone()
            make = sql.SQL("CREATE DATABASE {} TEMPLATE template0 ENCODING 'UTF8' LC_COLLATE {} LC_CTYPE {}")
            base.execute(make.format(sql.Identifier(place["NAME"]), collate, ctype))
        _run("pg_restore", ["--exit-on-error", "--no-owner", "--no-privileges", "--jobs=2", f"--dbname={place['NAME']}",
                            str(copy)], place)  # fmt: skip
        yield place
    except psycopg.errors.InsufficientPrivilege as trouble:
        raise Trouble(NO_RIGHT.format(user=live["USER"] or "heaps")) from trouble
    finally:
        _drop(place)


@contextmanager
def alone_with(live: Database) -> Iterator[None]:
    """Nobody is connected to the live database. Its new name is refused later, too, if somebody comes meanwhile."""
    from django.db import connection

    must_be_our_own(live)
    connection.close()
    with closing(connected(live, ELSEWHERE)) as base:
        others = _others_in_the_end(base, live["NAME"])
    if others:
        raise Trouble(f"Others are connected to the database {live['NAME']} ({others}). {STOP_THEM}")
    yield


def _others_in_the_end(base: Any, name: str) -> int:
    """How many are connected still after some patience: whoever has gone, as we have, is listed a moment longer."""
    patient_until = monotonic() + PATIENCE_S
    while (others := int(base.execute(OTHERS, [name]).fetchone()[0])) and monotonic() < patient_until:
        sleep(0.05)
    return others


def must_be_our_own(place: Database) -> None:
    """PostgreSQL's own database is where we stand to rename others, so it cannot be put aside. Raises Trouble."""
    if place["NAME"] == ELSEWHERE:
        raise Trouble(
            f"{ELSEWHERE} is PostgreSQL's own database, and no copy can be brought back over it. Make one for these\n"
            "records alone, with createdb heaps, and name that one."
        )


def put_in_place(new: Database, live: Database, name: str) -> str:
    """Give the new database the live one's name, which is kept under another, in one step. Which, or nothing."""
    kept = f"{live['NAME']}.{name}"
    with closing(connected(live, ELSEWHERE)) as base, base.transaction():
        there = exists(live)
        rename = sql.SQL("ALTER DATABASE {} RENAME TO {}")
        try:
            if there:
                base.execute(rename.format(sql.Identifier(live["NAME"]), sql.Identifier(kept)))
            base.execute(rename.format(sql.Identifier(new["NAME"]), sql.Identifier(live["NAME"])))
        except psycopg.errors.ObjectInUse as trouble:
            raise Trouble(
                "Somebody has connected to the database meanwhile. Stop them, then say this again."
            ) from trouble
    return kept if there else ""


def kept_database(live: Database, kept: str) -> Database:
    """The old database under the name it was kept by."""
    return live | {"NAME": kept}


def exists(live: Database) -> bool:
    """Whether there is such a database."""
    with closing(connected(live, ELSEWHERE)) as base:
        found = base.execute("SELECT 1 FROM pg_database WHERE datname = %s", [live["NAME"]])
        return found.fetchone() is not None


def url(database: Database) -> str:
    """The database as DATABASE_URL says it."""
    user, password = (quote(str(database[key] or ""), safe="") for key in ("USER", "PASSWORD"))
    who = f"{user}:{password}@" if password else f"{user}@" if user else ""
    host = quote(str(database["HOST"] or ""), safe="") + (f":{database['PORT']}" if database["PORT"] else "")
    options = urlencode(database.get("OPTIONS", {}))
    return f"postgres://{who}{host}/{quote(database['NAME'], safe='')}" + (f"?{options}" if options else "")


def environment(database: Database) -> dict[str, str]:
    """What PostgreSQL's own programs are told, so that no password stands in a list of processes."""
    said = {name: str(database[key]) for key, name in VARIABLES.items() if database.get(key)}
    options = {f"PG{key.upper()}": str(value) for key, value in database.get("OPTIONS", {}).items() if "ssl" in key}
    return said | options


def _run(program: str, options: list[str], database: Database) -> None:
    found = shutil.which(program)
    if found is None:
        raise Trouble(f"{program} is not here. On Debian or Ubuntu: apt install postgresql-client")
    done = subprocess.run(  # noqa: S603 - found on the path, with options of ours
        [found, *options], env=os.environ | environment(database), capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise Trouble(f"{program} says: {done.stderr.strip()}")


def _drop(place: Database) -> None:
    with closing(connected(place, ELSEWHERE)) as base:
        base.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(place["NAME"])))


def connected(database: Database, name: str = "") -> Any:
    keys = {"NAME": "dbname", "USER": "user", "PASSWORD": "password", "HOST": "host", "PORT": "port"}
    said: Mapping[str, Any] = {key: database[long] for long, key in keys.items() if database.get(long)}
    options = {key: value for key, value in database.get("OPTIONS", {}).items() if "ssl" in key}
    try:
        return psycopg.connect(**{**said, **options, **({"dbname": name} if name else {})}, autocommit=True)
    except psycopg.OperationalError as trouble:
        raise Trouble(f"PostgreSQL says: {str(trouble).strip()}") from trouble


def _one(base: Any, question: str) -> Any:
    return base.execute(question).fetchone()[0]
