"""What a page shows that is neither translated nor data."""

import re
import zoneinfo
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser

from heaps.science.feedstocks import SOURCES
from tests.hostile.ground import CAST
from tests.pseudo import CLOSES, OPENS

#: Every free field of the test's rows holds a text between these.
DATA_OPENS, DATA_CLOSES = "‹", "›"
SHOWN_MARKS = ("placeholder", "aria-label", "aria-description", "title", "alt", "data-label", "data-title",
               "data-button", "label", "data-ask")  # fmt: skip
UNSEEN = ("script", "style", "textarea")
VOID = ("br", "hr", "img", "input", "link", "meta")
#: Symbols of units and of chemistry, which no language translates, times as a phone writes them, and where the site is.
SYMBOLS = re.compile(r"\b(AM|PM|kg|g|t|cm|mm|m[²³]?|h|min|l|°?C|N|C:N|CSV|testserver|localhost)(?![^\W\d])")


class Shown(HTMLParser):
    """All texts of a page in their order: what it shows, and what it says of itself to a screen reader."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.marks: list[str] = []
        self._unseen: list[bool] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        if tag not in VOID:
            self._unseen.append(tag in UNSEEN or said.get("translate") == "no" or any(self._unseen[-1:]))
        self.marks += [said[name] or "" for name in SHOWN_MARKS if name in said]
        if tag == "input" and said.get("type") in ("submit", "button"):
            self.marks.append(said.get("value") or "")
        if tag == "meta" and said.get("name") == "description":
            self.marks.append(said.get("content") or "")

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            self._unseen.pop()

    def handle_data(self, data: str) -> None:
        if not any(self._unseen[-1:]):
            self.texts.append(data)


def literals(page: str) -> list[str]:
    """The pieces of a page that are neither bracketed nor data."""
    shown = Shown(page)
    found = [*outside(shown.texts)]
    for one in shown.marks:
        found += outside([one])
    return [one for one in found if is_literal(one)]


def outside(texts: list[str]) -> Iterator[str]:
    """What stands outside of all brackets. A sentence may begin in one element and end in another."""
    depth, signs = 0, {OPENS: 1, DATA_OPENS: 1, CLOSES: -1, DATA_CLOSES: -1}
    for text in texts:
        piece = ""
        for one in text:
            depth += signs.get(one, 0)
            piece += one if not depth and one not in signs else "\n" if not piece.endswith("\n") else ""
        yield from (part.strip() for part in piece.split("\n") if part.strip())
    if depth:
        yield f"brackets do not meet: {' '.join(texts)[-200:]}"


def is_literal(text: str) -> bool:
    """Whether it has words that somebody has to understand."""
    left = SYMBOLS.sub("", re.sub(r"https?://\S+", "", text))
    words = [one for one in re.findall(r"[\w-]+", left) if any(sign.isalpha() for sign in one)]
    return text not in _time_zones() and any(one not in SOURCES and one not in CAST for one in words)


@cache
def _time_zones() -> frozenset[str]:
    return frozenset(name.replace("_", " ") for name in zoneinfo.available_timezones())
