"""Rows found and written by one plain statement. What the models would check or fill in must have been done.

A moment may come in ISO 8601, as UTC; a text for a column of JSON is JSON already.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import UTC, datetime
from functools import cache, partial
from itertools import repeat
from operator import is_
from typing import Any, TypeVar
from uuid import UUID

import orjson
from django.db import DEFAULT_DB_ALIAS, connections, models
from django.db.backends.base.base import BaseDatabaseWrapper

M = TypeVar("M", bound=models.Model)
#: Types whose values a database takes as they are.
PLAIN = (models.IntegerField, models.BooleanField, models.CharField, models.TextField, models.ForeignKey)


#: Types whose values PostgreSQL takes as they are, and as text.
NATIVE = (models.UUIDField, models.DateTimeField)


def find(
    model: type[models.Model], names: Sequence[str], span: tuple[str, Any, Any] | None = None, **among: Collection[Any]
) -> list[tuple[Any, ...]]:
    """What stands in some columns of the rows whose columns `among` hold one of some values; the oldest row first.

    `span` is a column, and the least and most that it may hold; UUIDs may be text, all of them in the usual form. The
    same as with `filter` and `values_list`, which take longer to make the statement than all else takes.
    """
    columns = [_column(model, name) for name in names]
    if not all(among.values()):
        return []
    told = ", ".join(_quoted(one.attname) for one in columns)
    asked = [(_column(model, name), values) for name, values in among.items()]
    of_each = [_is_one_of(one) for one, _values in asked]
    given = [_as_one(map(_prepared(one), values)) for one, values in asked]
    if span:
        of_each.append(f"{_quoted(span[0])} BETWEEN %s AND %s")
        given += map(_prepared(_column(model, span[0])), span[1:])
    here = " AND ".join(of_each) or "1 = 1"
    statement = f"SELECT {told} FROM {_table(model)} WHERE {here} ORDER BY id"  # noqa: S608 - names of models and fields
    with _database().cursor() as cursor:
        cursor.execute(statement, given)
        rows = cursor.fetchall()
    return list(zip(*(_read(one, [row[place] for row in rows]) for place, one in enumerate(columns)), strict=True))


def whole(model: type[M], **among: Any) -> list[M]:
    """Such rows with all their columns, as objects."""
    names = [field.attname for field in model._meta.concrete_fields]
    return [model.from_db(DEFAULT_DB_ALIAS, names, row) for row in find(model, names, **among)]


def insert(model: type[models.Model], names: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Store new rows, each as what it has in the columns `names`: in all, as nothing fills in a default."""
    columns = [_column(model, name) for name in names]
    given = [_all_prepared(*one) for one in zip(columns, zip(*rows, strict=True), strict=False)]
    into = f"INSERT INTO {_table(model)} ({', '.join(map(_quoted, names))})"
    if given and _database().vendor == "postgresql":
        every_row = f"SELECT * FROM UNNEST({_arrays(columns)})"  # noqa: S608 - types of fields
        _run(f"{into} {every_row}", [list(map(list, given))])
    else:
        _run(f"{into} VALUES ({', '.join(['%s'] * len(names))})", list(zip(*given, strict=True)))


def put(model: type[models.Model], name: str, values: Iterable[tuple[int, Any]], counted: str, more: int = 1) -> None:
    """Set one column of rows, by their numbers, and count in another that it was set."""
    prepared = _prepared(_column(model, name))
    rows = [(prepared(value), more, pk) for pk, value in values]
    sets = f"{_quoted(name)} = %s, {_quoted(counted)} = {_quoted(counted)} + %s"
    _run(f"UPDATE {_table(model)} SET {sets} WHERE id = %s", rows)  # noqa: S608 - names of models and fields


def add(
    model: type[models.Model],
    key: Sequence[str],
    names: Sequence[str],
    more: Iterable[tuple[Sequence[Any], Sequence[int]]],
) -> int:
    """Add to the columns `names` of the rows that have something in the columns `key`; how many such rows there are."""
    sums = ", ".join(f"{_quoted(name)} = {_quoted(name)} + %s" for name in names)
    columns = [_column(model, name) for name in key]
    here = " AND ".join(f"{_or_zero(column)} = %s" for column in columns)
    prepared = [_prepared(column) for column in columns]
    rows = [
        (*values, *(0 if part is None else one(part) for one, part in zip(prepared, at, strict=True)))
        for at, values in more
    ]
    return _run(f"UPDATE {_table(model)} SET {sums} WHERE {here}", rows)  # noqa: S608 - names of models and fields


def _database() -> BaseDatabaseWrapper:
    """The connection itself: `django.db.connection` looks it up anew at every touch, which thousands of values feel."""
    return connections[DEFAULT_DB_ALIAS]


def _is_one_of(column: Any) -> str:
    """The statement is the same for any number of values: they are one parameter, which takes half of the time."""
    name, database = _quoted(column.attname), _database()
    if database.vendor == "postgresql":
        return f"{name} = ANY({_arrays([column])})"
    return f"{name} IN (SELECT value FROM json_each(%s))"  # noqa: S608 - names of models and fields


def _arrays(columns: Iterable[Any]) -> str:
    """Of each column all values as one parameter, for PostgreSQL: rows one by one take three times as long."""
    return ", ".join(f"%s::{column.db_type(_database())}[]" for column in columns)


def _as_one(values: Iterable[Any]) -> Any:
    return list(values) if _database().vendor == "postgresql" else orjson.dumps(list(values)).decode()


def _or_zero(column: Any) -> str:
    """Nothing is equal to nothing here, as it is not by itself; no row has the number 0."""
    return f"COALESCE({_quoted(column.attname)}, 0)" if column.null else _quoted(column.attname)


def _run(statement: str, rows: Sequence[Sequence[Any]]) -> int:
    """How many rows it met, over all of `rows`."""
    if not rows:
        return 0
    with _database().cursor() as cursor:
        cursor.executemany(statement, rows)
        met: int = cursor.rowcount
        return met


def _prepared(field: Any) -> Callable[[Any], Any]:
    """How a field's values are given to this database."""
    database = _database()
    if isinstance(field, PLAIN) or (database.vendor == "postgresql" and isinstance(field, NATIVE)):
        return lambda value: value
    if isinstance(field, models.DateTimeField):
        return _moment_as_text
    if isinstance(field, models.JSONField):
        as_json = partial(database.ops.adapt_json_value, encoder=field.encoder)
        return lambda value: value if value is None or isinstance(value, str) else as_json(value)
    if isinstance(field, models.UUIDField):
        return lambda value: value.hex if isinstance(value, UUID) else value and value.replace("-", "")
    return lambda value: None if value is None else field.get_db_prep_save(value, database)


def _all_prepared(field: Any, values: tuple[Any, ...]) -> Iterable[Any]:
    """A column's values; what all rows of one letter share is prepared once."""
    first = values[0]
    if isinstance(field, PLAIN):
        return values
    if all(map(partial(is_, first), values)):
        return repeat(_prepared(field)(first), len(values))
    return map(_prepared(field), values)


def _moment_as_text(moment: datetime | str | None) -> str | None:
    """As Django has it in SQLite; Django looks closely at each, which takes five times as long."""
    written = moment.astimezone(UTC).isoformat() if isinstance(moment, datetime) else moment
    return written and written.removesuffix("+00:00").replace("T", " ")


def _read(column: Any, values: list[Any]) -> list[Any]:
    """What this database gave, as the field has it."""
    database, at = _database(), column.cached_col
    for convert in (*database.ops.get_db_converters(at), *at.get_db_converters(database)):
        values = [convert(value, at, database) for value in values]
    return values


def _column(model: type[models.Model], name: str) -> Any:
    return model._meta.get_field(name)


def _table(model: type[models.Model]) -> str:
    return _quoted(model._meta.db_table)


@cache
def _quoted(name: str) -> str:
    return _database().ops.quote_name(name)
