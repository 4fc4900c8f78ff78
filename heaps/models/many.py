"""Many rows written by one prepared statement. What the models would check or fill in must have been done."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.db import connection, models

#: Types whose values a database takes as they are.
PLAIN = (models.IntegerField, models.BooleanField, models.CharField, models.TextField, models.ForeignKey)


def insert(model: type[models.Model], rows: Iterable[models.Model]) -> None:
    """Store fresh rows. Unlike after `bulk_create`, nobody learns their numbers."""
    fields = [field for field in model._meta.concrete_fields if not field.primary_key]
    getters = [(field.attname, _prepared(field)) for field in fields]
    values = [[prepared(getattr(row, name)) for name, prepared in getters] for row in rows]
    names, marks = ", ".join(_quoted(field.attname) for field in fields), ", ".join(["%s"] * len(fields))
    _run(f"INSERT INTO {_table(model)} ({names}) VALUES ({marks})", values)  # noqa: S608 - names of models and fields


def put(model: type[models.Model], name: str, values: Iterable[tuple[int, Any]], counted: str) -> None:
    """Set one column of rows, by their numbers, and count in another that it was set."""
    prepared = _prepared(model._meta.get_field(name))
    rows = [(prepared(value), pk) for pk, value in values]
    sets = f"{_quoted(name)} = %s, {_quoted(counted)} = {_quoted(counted)} + 1"
    _run(f"UPDATE {_table(model)} SET {sets} WHERE id = %s", rows)  # noqa: S608 - names of models and fields


def add(model: type[models.Model], names: Sequence[str], more: Iterable[tuple[int, Sequence[int]]]) -> None:
    """Add to columns of rows, by their numbers."""
    sums = ", ".join(f"{_quoted(name)} = {_quoted(name)} + %s" for name in names)
    rows = [(*values, pk) for pk, values in more]
    _run(f"UPDATE {_table(model)} SET {sums} WHERE id = %s", rows)  # noqa: S608 - names of models and fields


def _run(statement: str, rows: Sequence[Sequence[Any]]) -> None:
    if rows:
        with connection.cursor() as cursor:
            cursor.executemany(statement, rows)


def _prepared(field: Any) -> Callable[[Any], Any]:
    """How a field's values are given to this database."""
    if isinstance(field, PLAIN):
        return lambda value: value
    return lambda value: None if value is None else field.get_db_prep_save(value, connection)


def _table(model: type[models.Model]) -> str:
    return _quoted(model._meta.db_table)


def _quoted(name: str) -> str:
    return connection.ops.quote_name(name)
