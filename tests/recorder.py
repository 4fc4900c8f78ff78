"""A browser that remembers the forms it sent, so that they can be sent again by somebody else."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from django.db import transaction
from django.test import Client
from django.urls import reverse

from tests.rows import BOOKKEEPING, digest_of_rows


@dataclass(frozen=True)
class Sent:
    """One form as a browser sends it."""

    role: str
    name: str
    path: str
    fields: dict[str, Any]
    own: frozenset[str]  # every name that a field or a button of the page has
    answer: int


class Recorder(Client):
    """A browser that remembers what it sent, and undoes what that changed."""

    def __init__(self, role: str) -> None:
        super().__init__()
        self.role = role
        self.sent: list[Sent] = []

    def fill_in(self, name: str, /, *where: object, **said: Any) -> None:
        """Open a page, fill in its form and send it. It must change something."""
        path = reverse(name, args=where)
        page = Form()
        page.feed(self.get(path).content.decode(errors="replace"))
        form = next((one for one in page.forms if one.keys() and said.keys() <= one.keys()), {})
        before, undo = digest_of_rows(BOOKKEEPING), transaction.savepoint()
        answer = self.post(path, fields := {**form, **said})
        assert digest_of_rows(BOOKKEEPING) != before, (name, answer.status_code)
        transaction.savepoint_rollback(undo)
        own = frozenset(key for one in page.forms for key in one) | fields.keys()
        self.sent.append(Sent(self.role, name, path, fields, own, answer.status_code))


@dataclass
class Form(HTMLParser):
    """The forms of a page: the names of their fields and what stands in them."""

    forms: list[dict[str, str]] = field(default_factory=list)
    select: str = ""

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = dict(attrs)
        name, value = has.get("name"), has.get("value") or ""
        if tag == "form":
            self.forms.append({})
        elif tag == "select" and name:
            self.select, self.forms[-1][name] = name, ""
        elif tag == "option" and "selected" in has:
            self.forms[-1][self.select] = value
        elif tag in ("input", "textarea", "button") and name and self.forms:
            checked = has.get("type") != "checkbox" or "checked" in has
            self.forms[-1][name] = value if checked and tag != "button" else ""
