"""Which pages are looked at, by whom, and where they are in the database of a running server."""

import tomllib
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.urls import reverse
from django.utils import timezone

from members.tickets import digest
from tests.serving import Server

INVITATION, WAY_IN = "an-invitation", "a-way-in"
ROLES = ("nobody", "closed", "member", "coordinator", "treasurer", "administrator")
#: Asked for by programs.
NO_PAGES = {
    "service_worker", "manifest", "heaps:now", "heaps:sync", "heaps:year_csv", "heaps:left_out", "everything",
    "heaps:what_to_add",
}  # fmt: skip
TABLE: list[dict[str, Any]] = tomllib.loads((Path(__file__).parent.parent / "access.toml").read_text())["page"]

TELL_REPORTS = """addEventListener('securitypolicyviolation', (event) =>
    console.error(`policy: ${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}:${event.lineNumber}`));"""


@dataclass(frozen=True)
class Visit:
    """One page, seen by somebody in a role. `refuses`: what is sent empty there comes back with what is missing."""

    name: str
    role: str
    filled: tuple[tuple[str, str], ...]
    refuses: bool = False

    def __str__(self) -> str:
        return f"{self.name} {' '.join(what for _, what in self.filled)} {self.role}"


def visits() -> list[Visit]:
    """Each page once for the humblest role that may see it, and the first page for every role."""
    found = []
    for page in TABLE:
        if page["name"] in NO_PAGES or "GET" not in page:
            continue
        filled = tuple(page.get("with", {}).items())
        if any(what.startswith("other ") for _key, what in filled):
            continue  # looks as one's own does
        if "import" in page.get("with", {}).values():
            continue  # measured in test_imports.py, with a file in each state
        roles = [role for role in ROLES if role != "closed" and page["GET"][ROLES.index(role)] == 200]
        wanted = roles if page["name"] in ("heaps:home", "heaps:board") else roles[:1]
        found += [
            Visit(page["name"], role, filled, refuses="POST" in page and page["POST"][ROLES.index(role)] == 200)
            for role in wanted
        ]
    return found


def lay_tickets(server: Server, member: str, made_by: str) -> None:
    """An invitation, and a way in for a member on another phone, whose links are known."""
    now = timezone.now()
    for link, word, person in ((INVITATION, "apple", None), (WAY_IN, "tiger", member)):
        server.rows(
            "insert into members_ticket"
            " (first_word, other_words, link, made_at, ends_at, tries_left, is_proof, member_id, made_by_id)"
            " values (?, '!', ?, ?, ?, 5, false, (select id from members_member where username = ?),"
            " (select id from members_member where username = ?))",
            word, digest(link), str(now), str(now + timedelta(days=1)), person, made_by,
        )  # fmt: skip


#: Where to look for what an address is filled with.
QUESTIONS = {
    "own bay": "select uid from heaps_bay order by site_id, position",
    "own site": "select uid from heaps_site order by id",
    "own container": "select uid from heaps_container order by id",
    "person": "select uid from members_member where username in ('vole', 'ada') order by username desc",
    "self": "select uid from members_member where username in ('tansy', 'edda')",
    "year": "select 2026",
    "invitation": f"select '{INVITATION}'",
    "way in": f"select '{WAY_IN}'",
    "chapter": "select 'signs'",
    "own load": "select e.uid from heaps_entry e join heaps_beantest b on b.entry_id = e.id order by b.id",
    "own bean test": "select id from heaps_beantest order by id",
    "own harvest": "select uid from heaps_entry where kind = 'harvest' order by id desc",
    "own donor": "select uid from heaps_donor order by id",
    "material": "select 'coffee'",
}


def address(visit: Visit, server: Server) -> str:
    """Where that is in the server's database."""
    known = {key: server.rows(QUESTIONS[what])[0][0] for key, what in visit.filled}
    return reverse(visit.name, kwargs={key: as_in_address(one) for key, one in known.items()})


def as_in_address(one: str | int) -> str | int:
    """A uid as addresses write it; a year, a link or a word as it is."""
    if isinstance(one, int) or len(one) != 32 or "-" in one:
        return one
    return f"{one[:8]}-{one[8:12]}-{one[12:16]}-{one[16:20]}-{one[20:]}"
