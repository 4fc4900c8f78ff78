"""Every address x method x role is answered as `access.toml` declares, and who is turned away changes nothing."""

import tomllib
import types
import uuid
from collections.abc import Callable, Iterator
from copy import deepcopy
from datetime import timedelta
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, path, reverse
from django.utils import timezone
from pytest_django import Settings

from heaps.models import ImportRun, Site
from heaps.sync import Sending, accept
from members.models import Member, Ticket
from members.tickets import digest
from members.views.first_start import first_start_code
from tests.rows import digest_of_rows
from tests.sendings import NOON, load

ROLES = ("nobody", "closed", "member", "coordinator", "treasurer", "administrator", "steward")
USERNAMES = {"coordinator": "cleo", "treasurer": "dov", "administrator": "edda", "steward": "gwen"}
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
PAGES: list[dict[str, Any]] = tomllib.loads((Path(__file__).parent / "access.toml").read_text())["page"]

ROLE_FIELDS = ("is_coordinator", "is_treasurer", "is_administrator")
#: What makes somebody new, or gives every role to somebody.
FULL_FORM = {
    "name": "Zed", "username": "zed", "password": "grass and cardboard", "new": "grass and cardboard",
    **dict.fromkeys(ROLE_FIELDS, "on"),
}  # fmt: skip

Browsers = dict[str, Client]


def declared(page: dict[str, Any], method: str, role: str) -> int:
    """The answer that the table promises."""
    answers = page.get(method) or (page.get("GET") if method == "HEAD" else None) or [405] * len(ROLES)
    answer: int = answers[ROLES.index(role)]
    return answer


def title(page: dict[str, Any]) -> str:
    """What a page is called in the list of tests."""
    return "-".join([page["name"], *page.get("with", {}).values()])


def turned_away(page: dict[str, Any], method: str, role: str) -> bool:
    """Whether the table shuts somebody out. A 302 does so only to whoever has no live session, save on a way in."""
    answer = declared(page, method, role)
    return answer >= 400 or (answer == 302 and role in ("nobody", "closed") and "lets_in" not in page)


def names(resolver: URLResolver, before: str = "") -> Iterator[str]:
    """The full name of every address below a resolver."""
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLPattern):
            yield f"{before}{pattern.name}"
        else:
            yield from names(pattern, f"{before}{pattern.namespace}:" if pattern.namespace else before)


@pytest.fixture
def other_site(other_site: Site, site: Site) -> Site:
    """The other site; at both, there is somebody who gives, and a load with its bean test, and bags. One file came."""
    ImportRun.objects.create(file_name="notebook.csv", state="done", made_at=NOON)
    for place in (site, other_site):
        place.donors.create(kind="stable", organisation="Hobb Stables", contact="Kit")
        accept([load(place.bays.order_by("position")[0])], Sending(None, None, sent_at=NOON, received_at=NOON))
        place.entries.get().bean_tests.create(sown_on=NOON.date())
        taken = {"half_bags": 2, "bag_ml": 40_000, "per_cent": 50, "sieved": "sieved"}
        harvest = load(place.bays.order_by("position")[0], minutes=9, kind="harvest", details=taken)
        accept([harvest], Sending(None, None, sent_at=NOON + timedelta(hours=1), received_at=NOON + timedelta(hours=1)))
    return other_site


@pytest.fixture
def browsers(
    client_of: Callable[[Member | None], Client],
    member: Member,
    coordinator: Member,
    treasurer: Member,
    administrator: Member,
    former_member: Member,
    steward: Member,
) -> Browsers:
    """A browser for each role; that of the closed account was signed in before it was closed."""
    Member.objects.filter(pk=former_member.pk).update(is_active=True)
    former_member.refresh_from_db()
    people = (None, former_member, member, coordinator, treasurer, administrator, steward)
    now = timezone.now()
    for link, person in (("an-invitation", None), ("a-way-in", member)):
        ends = {"made_at": now, "ends_at": now + timedelta(minutes=10)}
        Ticket.objects.create(
            first_word=link[:6], other_words="!", link=digest(link), member=person, made_by=administrator, **ends
        )
    browsers = {role: client_of(person) for role, person in zip(ROLES, people, strict=True)}
    Member.objects.filter(pk=former_member.pk).update(is_active=False)
    return browsers


Finding = dict[str, Callable[[], Any]]


def address(page: dict[str, Any], role: str, missing: bool = False, finding: Finding | None = None) -> str:
    """The page's address for somebody in a role."""
    named = page.get("with", {})
    finding = finding or (standing_on_the_ground(role) if named else {})
    filled = {key: finding[what]() for key, what in named.items()}
    if missing:
        filled = {key: uuid.uuid4() if isinstance(one, uuid.UUID) else one for key, one in filled.items()}
    return reverse(page["name"], kwargs=filled)


def standing_on_the_ground(role: str) -> Finding:
    """How what an address names is found for somebody in a role; each is looked up once."""
    own, other = (Site.objects.get(name=name) for name in ("Lane Side", "Far Field"))
    known: Finding = {
        "own bay": lambda: own.bays.order_by("position")[0].uid,
        "own site": lambda: own.uid,
        "own container": lambda: own.containers.order_by("pk")[0].uid,
        "other bay": lambda: other.bays.get().uid,
        "other site": lambda: other.uid,
        "other container": lambda: other.containers.get().uid,
        "person": lambda: Member.objects.get(username="bela").uid,
        "self": lambda: Member.objects.get(username=USERNAMES.get(role, "ada")).uid,
        "own load": lambda: own.entries.get(kind="dropoff").uid,
        "own harvest": lambda: own.entries.get(kind="harvest").uid,
        "own bean test": lambda: own.entries.get(kind="dropoff").bean_tests.get().pk,
        "own donor": lambda: own.donors.get().uid,
        "other load": lambda: other.entries.get(kind="dropoff").uid,
        "other harvest": lambda: other.entries.get(kind="harvest").uid,
        "other bean test": lambda: other.entries.get(kind="dropoff").bean_tests.get().pk,
        "other donor": lambda: other.donors.get().uid,
        "import": lambda: ImportRun.objects.get(file_name="notebook.csv").uid,
        "code": first_start_code,
        "invitation": lambda: "an-invitation",
        "way in": lambda: "a-way-in",
        "year": lambda: 2026,
        "chapter": lambda: "signs",
        "material": lambda: "coffee",
    }
    return {what: cache(find) for what, find in known.items()}


def ask(browser: Client, method: str, where: str) -> HttpResponse:
    """Ask, and undo whatever the answer changed."""
    undo, cookies = transaction.savepoint(), deepcopy(browser.cookies)
    try:
        answer: HttpResponse = browser.generic(method, where) if method != "POST" else browser.post(where)
        return answer
    finally:
        transaction.savepoint_rollback(undo)
        browser.cookies = cookies


def lots(pages: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    """Some pages at a time share a ground: each leaves it as it was."""
    return [pages[at : at + 16] for at in range(0, len(pages), 16)]


def first_title(pages: list[dict[str, Any]]) -> str:
    """What a test of a lot is called by."""
    return f"from {title(pages[0])} on"


def test_every_address_stands_in_the_table() -> None:
    assert {page["name"] for page in PAGES} == set(names(get_resolver()))


@pytest.mark.parametrize("page", PAGES, ids=title)
def test_every_row_says_what_each_role_gets(page: dict[str, Any]) -> None:
    assert {len(page[method]) for method in METHODS if method in page} == {len(ROLES)}


def test_what_belongs_to_a_site_stands_as_one_s_own_and_as_another_s() -> None:
    at_sites = {(page["name"], what) for page in PAGES for what in page.get("with", {}).values() if " " in what}
    swapped = {
        (name, what.replace("own", "?").replace("other", "own").replace("?", "other")) for name, what in at_sites
    }
    assert at_sites == swapped


@pytest.mark.parametrize("pages", lots(PAGES), ids=first_title)
def test_every_method_and_role_is_answered_as_declared(
    pages: list[dict[str, Any]], browsers: Browsers, other_site: Site, other_member: Member
) -> None:
    asked = list(product(pages, METHODS, ROLES))
    found = {
        (title(page), method, role): ask(browsers[role], method, address(page, role)).status_code
        for page, method, role in asked
    }
    assert found == {(title(page), method, role): declared(page, method, role) for page, method, role in asked}


@pytest.mark.parametrize("pages", lots(PAGES), ids=first_title)
def test_who_is_turned_away_changes_no_row(
    pages: list[dict[str, Any]], browsers: Browsers, other_site: Site, other_member: Member
) -> None:
    before = digest_of_rows()
    for page in pages:
        for role, method in product(ROLES, METHODS):
            if turned_away(page, method, role):
                browsers[role].generic(method, address(page, role))
        assert digest_of_rows() == before, title(page)


@pytest.mark.parametrize("pages", lots([page for page in PAGES if "missing" in page]), ids=first_title)
def test_what_is_not_there_is_told_only_to_whoever_may_see_it(
    pages: list[dict[str, Any]], browsers: Browsers, other_site: Site, other_member: Member
) -> None:
    for page in pages:
        for method, role in product({"GET", "POST"} & page.keys(), ROLES):
            told = declared(page, method, role) if turned_away(page, method, role) else page["missing"]
            answer = ask(browsers[role], method, address(page, role, missing=True))
            assert answer.status_code == told, (title(page), method, role)


@pytest.mark.parametrize("pages", lots([page for page in PAGES if "POST" in page]), ids=first_title)
def test_nothing_is_taken_without_the_form_s_own_token(
    pages: list[dict[str, Any]], administrator: Member, other_site: Site, other_member: Member
) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(administrator)
    before = digest_of_rows()
    for page in pages:
        assert browser.post(address(page, "administrator")).status_code == 403, title(page)
        assert digest_of_rows() == before, title(page)


def test_every_answer_carries_the_same_strict_policy(
    browsers: Browsers, other_site: Site, other_member: Member, settings: Settings
) -> None:
    wheres = [address(page, "administrator") for page in PAGES]
    answers = [ask(browsers[role], "GET", where) for role in ROLES for where in [*wheres, "/nowhere/"]]
    answers.append(browsers["nobody"].post("/sign-in/", headers={"x-forwarded-proto": "https"}))
    settings.ROOT_URLCONF = broken_addresses()
    answers.append(Client(raise_request_exception=False).get("/"))
    assert answers[-1].status_code == 500
    (policy,) = {answer.headers.get("Content-Security-Policy", "none") for answer in answers}
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy


def broken_addresses() -> types.ModuleType:
    """Addresses of which the only one breaks."""
    module = types.ModuleType("broken_addresses")

    def breaks(request: HttpRequest) -> HttpResponse:
        raise RuntimeError("on purpose")

    module.__dict__.update(urlpatterns=[path("", breaks)], handler500="cooperative.views.broken")
    return module
