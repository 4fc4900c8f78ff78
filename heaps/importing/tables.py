"""A plain CSV file as a spreadsheet saves it: its signs, its head line, and its lines one after another."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

DELIMITERS = ",;\t"
Line = tuple[int, list[str] | None]  # the line's number in the file; None where it cannot be read


class Unreadable(Exception):
    """The file as a whole cannot be read. The message says why, in plain words."""


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
            first = next(lines, "")
        delimiter = max(DELIMITERS, key=first.count)
        found = cls(path, encoding, delimiter, (), 0)
        head: tuple[str, ...] = ()
        length = 0
        for number, cells in found._all():
            if number == 1:
                head = tuple(cell.strip() for cell in cells or ())
            length += 1
        if not any(head):
            raise Unreadable("The first line must name the columns.")
        return cls(path, encoding, delimiter, head, length - 1)

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

    def lines(self) -> Iterator[Line]:
        """Every line after the head."""
        lines = self._all()
        next(lines, None)
        yield from lines

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
            if file.read(2) in (b"\xff\xfe", b"\xfe\xff"):
                return "utf-16"
        with path.open(encoding="utf-8-sig") as text:
            while text.read(1 << 16):
                pass
    except UnicodeDecodeError:
        return "cp1252"
    except OSError as trouble:
        raise Unreadable(f"Cannot open {path}: {trouble.strerror}.") from None
    return "utf-8-sig"
