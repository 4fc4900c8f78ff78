"""A plain CSV file as a spreadsheet saves it: its signs, its head line, and its lines one after another."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from heaps.importing.reasons import Unreadable

DELIMITERS = ",;\t"
MOST_COLUMNS, MOST_LINES = 60, 250_000
LONGEST_HEAD = 1 << 16
LOOKED_THROUGH = 100  # lines, for examples
#: How a ZIP archive (.xlsx and .ods are such) and the older kind of spreadsheet file begin.
ARCHIVES = (b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0")
Line = tuple[int, list[str] | None]  # the line's number in the file; None where it cannot be read


@dataclass(frozen=True)
class Table:
    """A file that has been looked through once. Its lines are read again as they are needed."""

    path: Path
    encoding: str
    delimiter: str
    head: tuple[str, ...]
    length: int

    @classmethod
    def opened(cls, path: Path) -> "Table":
        """Find out how the file is written and how many lines it has. Raises Unreadable."""
        encoding = _encoding(path)
        with path.open(encoding=encoding, errors="replace", newline="") as lines:
            first = lines.readline(LONGEST_HEAD)
        delimiter = max(DELIMITERS, key=first.count)
        if len(first) == LONGEST_HEAD or first.count(delimiter) >= MOST_COLUMNS:
            raise Unreadable(
                "The first line is far too long. It must name the columns, at most %(most)s.", most=MOST_COLUMNS
            )
        found = cls(path, encoding, delimiter, (), 0)
        lines_of = found._all()
        _number, cells = next(lines_of, (1, None))
        head = tuple(cell.strip() for cell in cells or ())
        if not any(head):
            raise Unreadable("The first line must name the columns.")
        length = sum(1 for _line in islice(lines_of, MOST_LINES + 1))
        if length > MOST_LINES:
            raise Unreadable(
                "There are more than %(most)s lines. Cut the file in two and bring in one at a time.",
                most=MOST_LINES,
            )
        return cls(path, encoding, delimiter, head, length)

    @property
    def has_decimal_commas(self) -> bool:
        """Whether numbers in this file are likely to carry a comma: the reason why a semicolon parts the cells."""
        return self.delimiter == ";"

    def fits(self, written: list[str]) -> bool:
        """Whether a line's cells are those of the columns. Where a comma parts them, 12,5 would make two cells of
        one, and each later one would be taken for its neighbour, so that every cell must be there."""
        if self.delimiter == ",":
            return len(written) == len(self.head)
        return not any(cell.strip() for cell in written[len(self.head) :])

    def lines(self, after: int = 0) -> Iterator[Line]:
        """Every line after the head and `after` further ones."""
        yield from islice(self._all(), 1 + after, None)

    def examples(self, count: int) -> list[list[str]]:
        """Of each column so many different cells, as the first `LOOKED_THROUGH` lines have them."""
        lines = [written or [] for _number, written in islice(self.lines(), LOOKED_THROUGH)]
        columns = ([cells[place].strip() for cells in lines if place < len(cells)] for place in range(len(self.head)))
        return [list(dict.fromkeys(filter(None, cells)))[:count] for cells in columns]

    def _all(self) -> Iterator[Line]:
        with self.path.open(encoding=self.encoding, errors="replace", newline="") as file:
            reader = csv.reader(file, delimiter=self.delimiter, strict=True)
            while True:
                number = reader.line_num + 1
                try:
                    cells = next(reader)
                except StopIteration:
                    return
                except csv.Error:
                    yield number, None
                else:
                    yield number, cells


def _encoding(path: Path) -> str:
    """UTF-8 or UTF-16 as a spreadsheet marks them; what is neither is read as the old Windows letters."""
    try:
        with path.open("rb") as file:
            begins = file.read(1 << 16)
        if not begins.strip():
            raise Unreadable("The file is empty. Its first line must name the columns.")
        if begins.startswith((b"\xff\xfe", b"\xfe\xff")):
            return "utf-16"
        if begins.startswith(ARCHIVES):
            raise Unreadable("This is a spreadsheet program's own file. Save it there as CSV, and choose that file.")
        if b"\0" in begins:
            raise Unreadable("This is no text. Open it in a spreadsheet program and save it as CSV in UTF-8.")
        with path.open(encoding="utf-8-sig") as text:
            while text.read(1 << 16):
                pass
    except UnicodeDecodeError:
        return "cp1252"
    except OSError as trouble:
        raise Unreadable("Cannot open %(file)s: %(why)s.", file=str(path), why=trouble.strerror) from None
    return "utf-8-sig"
