"""Reads an answer as a browser would, and says what in it cannot have come from a template."""

import csv
import io
import json
import re
import unicodedata
from collections import Counter
from dataclasses import dataclass, field, replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from django.conf import settings

from tests.hostile.corpus import RUNS

ADDRESSES = ("href", "src", "action", "formaction", "srcset", "poster", "data", "xlink:href", "ping", "manifest")
RUNNING = re.compile(r"on[a-z]+|style|srcdoc|background|http-equiv")
TEXT_INPUTS = (None, "text", "search", "hidden", "password", "email", "url", "tel", "number", "date", "datetime-local")
#: What a spreadsheet takes for the start of a formula, also in other widths (OWASP, CSV injection).
SIGNS = "=+-@\uff1d\uff0b\uff0d\uff20\u2212\ufe66\ufe62\ufe63\ufe6b"
NUMBER = re.compile(r"-?\d+(\.\d+)?")

Marks = dict[str, str | None]


@dataclass
class Control:
    """A field of a form, with what stands in it."""

    tag: str
    marks: Marks
    value: str = ""

    @property
    def name(self) -> str:
        """Its name."""
        return self.marks.get("name") or ""

    @property
    def is_text(self) -> bool:
        """Whether somebody can type into it, or a browser be told to send something else in it."""
        return self.tag == "textarea" or (self.tag == "input" and self.marks.get("type") in TEXT_INPUTS)


@dataclass
class Form:
    """A form of a page."""

    marks: Marks
    controls: list[Control] = field(default_factory=list)


class Read(HTMLParser):
    """A page, read: its elements counted, its forms, its islands of JSON, and what is wrong."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: Counter[tuple[str, ...]] = Counter()
        self.wrong: list[str] = []
        self.forms: list[Form] = []
        self.islands: list[Any] = []
        self.alarms = 0
        self._within = ""
        self._text = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        marks = dict(attrs)
        self.elements[(tag, *sorted(marks))] += attrs != [] or tag != "br"  # which a page makes of the ends of lines
        self.alarms += "alarm" in (marks.get("class") or "") or marks.get("role") == "alert"
        if tag not in known_tags() or len(marks) < len(attrs):
            self.wrong.append(f"<{tag}> {attrs}"[:200])
        for name, value in attrs:
            self._look_at_mark(tag, name, value)
        if tag == "script" and not ((marks.get("src") or "").startswith("/static/") or _is_island(marks)):
            self.wrong.append(f"a script of its own: {marks}")
        if tag == "form":
            self.forms.append(Form(marks))
        elif tag in ("input", "textarea", "select", "button") and self.forms:
            self.forms[-1].controls.append(Control(tag, marks, marks.get("value") or ""))
        elif tag == "option" and "selected" in marks and self.forms:
            self.forms[-1].controls[-1].value = marks.get("value") or ""
        if tag in ("script", "style", "textarea", "title"):
            self._within, self._text = "island" if _is_island(marks) else tag, ""

    def _look_at_mark(self, tag: str, name: str, value: str | None) -> None:
        if RUNNING.fullmatch(name) or RUNS in name or not re.fullmatch(r"[a-z][a-z:-]*[0-9]*", name):
            self.wrong.append(f"<{tag} {name}={value}>"[:200])
        if (tag, name) in (("img", "src"), ("link", "href")) and (value or "").startswith("data:image/"):
            return  # a code to scan, the page's icon: what is in a picture's own markup never runs
        if name in ADDRESSES and not re.match(r"(/(?![/\\])|#|\?|$)", value or ""):
            self.wrong.append(f"an address that leads away: <{tag} {name}={value}>"[:200])

    def handle_data(self, data: str) -> None:
        self._text += data

    def handle_endtag(self, tag: str) -> None:
        if self._within and (tag == self._within or (tag == "script" and self._within == "island")):
            if self._within == "island":
                self.islands.append(json.loads(self._text))
            elif self._within in ("script", "style") and self._text.strip():
                self.wrong.append(f"a script or style within the page: {self._text[:200]}")
            elif self._within == "textarea" and self.forms and self.forms[-1].controls:
                self.forms[-1].controls[-1].value = self._text.removeprefix("\n")
            self._within = ""

    def handle_comment(self, data: str) -> None:
        self.wrong.append(f"a comment: {data[:200]}")

    def handle_decl(self, decl: str) -> None:
        if decl.lower() != "doctype html":
            self.wrong.append(f"a declaration: {decl[:200]}")

    def unknown_decl(self, data: str) -> None:
        self.wrong.append(f"a declaration: {data[:200]}")

    def handle_pi(self, data: str) -> None:
        self.wrong.append(f"an instruction: {data[:200]}")


def _is_island(marks: Marks) -> bool:
    return marks.get("type") == "application/json"


@cache
def known_tags() -> frozenset[str]:
    """Every element that a template makes, or a form of Django's."""
    texts = [path.read_text() for path in (Path(settings.BASE_DIR) / "templates").rglob("*.html")]
    found = {tag.lower() for text in texts for tag in re.findall(r"<([a-zA-Z][a-z0-9]*)", text)}
    return frozenset(found | {"input", "select", "option", "textarea", "script"})


@dataclass(frozen=True)
class Answer:
    """What came back: its elements where it is a page, and all that is wrong with it."""

    elements: Counter[tuple[str, ...]]
    wrong: list[str]
    page: Read | None

    def with_all_of(self, other: "Answer | None") -> "Answer":
        """One that has all the elements that either has: of a page that may look in two ways."""
        return replace(self, elements=self.elements | other.elements, wrong=self.wrong + other.wrong) if other else self


def read(response: Any) -> Answer:
    """An answer, read by its kind."""
    body = b"".join(response.streaming_content) if response.streaming else response.content
    text, kind = body.decode("utf-8-sig"), response.headers.get("Content-Type", "").partition(";")[0]
    wrong = [f"a header: {name}" for name, value in response.items() if re.search(r"[\r\n\x00]", name + value)]
    if response.status_code >= 500:
        wrong.append(f"answered {response.status_code}")
    page = None
    if kind == "text/html":
        page = Read(text)
        wrong += page.wrong
    elif kind.endswith("json"):
        json.loads(text or "null")
    elif kind == "text/csv":
        wrong += sheet_faults(text)
    elif text and kind not in ("text/javascript", "image/svg+xml", "text/calendar"):
        wrong.append(f"an answer of the kind {kind}")
    return Answer(page.elements if page else Counter(), wrong, page)


def sheet_faults(text: str) -> list[str]:
    """Cells that a spreadsheet would work out, wherever it divides the lines: at commas, semicolons or tabs."""
    wrong = []
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    if len({len(row) for row in rows}) > 1:
        wrong.append("the lines are not of one length")
    for cell in (cell for row in rows for cell in row):
        parts = [cell, *re.split(r"[,;\t\r\n|]", cell)]
        if any(is_formula(part) for part in parts):
            wrong.append(f"a formula: {cell[:80]!r}")
    return wrong


def is_formula(text: str) -> bool:
    """Whether a spreadsheet may take it for a formula; what stands before its sign and is not seen does not count."""
    seen = "".join(one for one in text if unicodedata.category(one)[0] not in "ZC")
    return seen.startswith(tuple(SIGNS)) and not NUMBER.fullmatch(text)
