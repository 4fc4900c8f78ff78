"""What a file says: some lines at a time, the good ones laid in order of time, the bad ones with their reasons.

Nothing goes into the ledger here. How far the reading is moves with what was read, so that it survives any end.
"""

import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import islice

from heaps.importing import logger, notebook, reasons, shelf
from heaps.importing.ground import Ground
from heaps.importing.intake import Bad, Found, Repeats, not_here, numbered
from heaps.importing.reasons import Unreadable
from heaps.importing.tables import MOST_LINES, Line, Table
from heaps.models import ImportRun
from members.models import Member

AT_ONCE = 2_000
State = ImportRun.State


def open_file(run: ImportRun) -> Table:
    """Look through a file that was just put there, and say what its columns are taken for. Raises Unreadable."""
    table = Table.opened(shelf.path_of(run))
    if run.of == ImportRun.Of.LOGGER:
        probes = logger.probes_of(table)
        if table.length * len(probes) > MOST_LINES:
            raise Unreadable(
                "There are more than %(most)s readings. Cut the file and bring in one at a time.",
                most=MOST_LINES,
            )
        columns: list[str | None] = ["time", *probes]
    else:
        columns = _once_each(notebook.taken_for(table.head))
    shelf.begin_lines(run, table)
    set_columns(run, columns)
    return table


def _once_each(columns: Sequence[str | None]) -> list[str | None]:
    """Of two columns that seem to be the same only the first is taken for it: about the other somebody is asked."""
    return [None if name and name in columns[:place] else name for place, name in enumerate(columns)]


def set_columns(run: ImportRun, columns: Sequence[str | None]) -> Unreadable | None:
    """Take the columns for these, and read from the start. Answers with what is still wrong with them, or nothing."""
    is_notebook = run.of == ImportRun.Of.NOTEBOOK
    wrong = notebook.wrong_with(columns) if is_notebook else None
    run.columns = list(columns)
    run.state = State.COLUMNS if wrong or (is_notebook and None in columns) else State.READING
    run.lines = run.bad = run.here_already = 0
    with shelf.lines_of(run) as file:
        table = shelf.table_of(file)
    shelf.begin_lines(run, table)
    return wrong


def read_on(run: ImportRun, reader: Member) -> None:
    """Read some more lines. After the last, the run is ready to be brought in."""
    with shelf.lines_of(run) as file:
        table, place = shelf.table_of(file), int(shelf.said(file, "read", "0"))
        at_once = AT_ONCE if run.of == ImportRun.Of.NOTEBOOK else max(1, AT_ONCE // len(run.columns))
        lines = list(islice(table.lines(place), at_once))
        found = list(numbered(_rows(run, table, lines, reader, _before(file)), Repeats(file)))
        _lay(file, found)
        shelf.note(file, "read", place + len(lines))
        if place + len(lines) >= table.length or not lines:
            _put_in_order(file)
            (lines,) = file.execute("SELECT count(*) FROM good").fetchone()
            here = int(shelf.said(file, "here", "0"))
            read = ImportRun.objects.filter(pk=run.pk, state=State.READING, columns=run.columns)  # as they still are
            read.update(state=State.READ, lines=lines, bad=bad_count(file), here_already=here)


def progress(run: ImportRun) -> tuple[int, int]:
    """How many lines of the file were read, and how many there are."""
    with shelf.lines_of(run) as file:
        return int(shelf.said(file, "read", "0")), shelf.table_of(file).length


def table_of(run: ImportRun) -> Table:
    """The file as it was looked through."""
    with shelf.lines_of(run) as file:
        return shelf.table_of(file)


def first_lines(run: ImportRun, count: int) -> list[Found]:
    """The first good lines as they were understood."""
    with shelf.lines_of(run) as file:
        return _found(file.execute("SELECT line, raw, person FROM good ORDER BY number LIMIT ?", (count,)))


def bad_lines(run: ImportRun, start: int = 0, count: int = -1) -> list[Bad]:
    """Bad lines in the file's order, each with its reason; none once the file has been thrown away."""
    if not shelf.path_of_lines(run).exists():
        return []
    with shelf.lines_of(run) as file:
        asked = "SELECT line, col, reason FROM bad ORDER BY line, number LIMIT ? OFFSET ?"
        rows = file.execute(asked, (count, start))
        return [Bad(line, column, reasons.read(kept)) for line, column, kept in rows]


def bad_reasons(run: ImportRun) -> int:
    """How many reasons there are, as many as `bad_lines` has."""
    if not shelf.path_of_lines(run).exists():
        return 0
    with shelf.lines_of(run) as file:
        return int(file.execute("SELECT count(*) FROM bad").fetchone()[0])


def bad_count(file: sqlite3.Connection) -> int:
    """How many lines stay out."""
    (count,) = file.execute("SELECT count(DISTINCT line) FROM bad").fetchone()
    return int(count)


def lines_from(file: sqlite3.Connection, place: int, least: int, most: int) -> list[Found]:
    """The good lines after the first `place` in order of time: `least` of them, and then those of the same moment."""
    asked = """SELECT line, raw, person, site, at FROM in_time JOIN good USING (number)
        WHERE place > ? ORDER BY place LIMIT ?"""
    chosen: list[tuple[int, str, str | None]] = []
    last: tuple[str, str] | None = None
    for line, raw, person, *moment in file.execute(asked, (place, most)):
        if len(chosen) >= least and tuple(moment) != last:
            break
        chosen.append((line, raw, person))
        last = (moment[0], moment[1])
    return _found(chosen)


def leave_out(file: sqlite3.Connection, bad: Iterable[Bad]) -> None:
    """Note what stays out; once, however often it is noted."""
    said = [(one.line, one.column, reasons.kept(one.reason)) for one in bad]
    file.executemany("INSERT OR IGNORE INTO bad (line, col, reason) VALUES (?, ?, ?)", said)


def _rows(
    run: ImportRun, table: Table, lines: Iterable[Line], reader: Member, before: datetime | None
) -> Iterator[Found | Bad]:
    if run.of == ImportRun.Of.LOGGER and run.bay:
        return logger.rows(table, lines, run.bay, reader, before)
    ground = Ground.known(run.site.name if run.site else "")
    return notebook.rows(table, lines, ground, reader, [name or "" for name in run.columns])


def _before(file: sqlite3.Connection) -> datetime | None:
    """The moment of the last line that was read, by which an hour that comes twice is told apart."""
    found = file.execute("SELECT at FROM good ORDER BY number DESC LIMIT 1").fetchone()
    return datetime.fromisoformat(found[0]) if found else None


def _lay(file: sqlite3.Connection, rows: Sequence[Found | Bad]) -> None:
    good = [row for row in rows if isinstance(row, Found)]
    file.executemany(
        "INSERT INTO good (site, at, line, raw, person) VALUES (?, ?, ?, ?, ?)",
        [
            (row.raw["site"], row.raw["occurred_at"], row.line, json.dumps(row.raw), str(row.person.uid))
            for row in good
            if row.person
        ],
    )
    leave_out(file, (row for row in rows if isinstance(row, Bad)))
    shelf.note(file, "here", int(shelf.said(file, "here", "0")) + len(good) - len(not_here(good)))


def _put_in_order(file: sqlite3.Connection) -> None:
    file.execute("DELETE FROM in_time")
    file.execute("INSERT INTO in_time (number) SELECT number FROM good ORDER BY site, at, number")


def _found(rows: Iterable[tuple[int, str, str | None]]) -> list[Found]:
    """Lines as they were laid there; of somebody who has left since, without their words."""
    rows = list(rows)
    people = {str(one.uid): one for one in Member.objects.filter(uid__in={row[2] for row in rows})}
    found = []
    for line, written, uid in rows:
        raw, person = json.loads(written), people.get(uid or "")
        found.append(Found(line, {}, raw if person else raw | {"words": ""}, person))
    return found
