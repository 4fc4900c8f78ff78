"""What the guide is made of: chapters of parts, parts of lines, and each line with where it comes from."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from heaps.science.feedstocks import SOURCES, Source
from heaps.science.signs import PRACTICE as PRACTICE

Text = str | Promise

RECKONED = "reckoned"
#: What stands in place of a published source, in words a reader knows.
MARKS: dict[str, Text] = {
    PRACTICE: _("common practice"),
    RECKONED: _("reckoned from the figures here"),
    "mem-H": _("from memory"),
    "mem-M": _("from memory, fairly sure"),
    "mem-L": _("from memory, unsure"),
}


@dataclass(frozen=True)
class Line:
    """A few sentences, and the ids of what they rest on: sources of `sources.csv`, or marks."""

    says: Text
    rests_on: tuple[str, ...]

    @property
    def named(self) -> list[Text]:
        """What it rests on, as the page shows it."""
        return [MARKS.get(one, one) for one in self.rests_on]


@dataclass(frozen=True)
class Part:
    """One thing to know: its lines, what to do where something has to be done, and further words to find it by."""

    key: str
    title: Text
    lines: tuple[Line, ...]
    do: Line | None = None
    found_by: Text = ""

    @property
    def all_lines(self) -> tuple[Line, ...]:
        """Its lines and what to do."""
        return (*self.lines, self.do) if self.do else self.lines


@dataclass(frozen=True)
class Chapter:
    """A page of the guide."""

    key: str
    title: Text
    opening: Text
    parts: tuple[Part, ...]
    one_sheet: bool = False

    @property
    def sources(self) -> list[Source]:
        """Every published source of the chapter, in the order of the page."""
        ids = [one for part in self.parts for line in part.all_lines for one in line.rests_on]
        return [SOURCES[one] for one in dict.fromkeys(ids) if one not in MARKS]


def line(says: Text, *rests_on: str) -> Line:
    """A line of a chapter."""
    return Line(says, rests_on)
