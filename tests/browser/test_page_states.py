"""Pages in states that are seldom looked at: nothing behind them, names that are too long, a form sent empty."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page

from cooperative.demo import PASSWORD as DEMO_PASSWORD
from members.views.first_start import first_start_code
from tests import chromium
from tests.browser import measuring
from tests.browser.steps import count_as_proved, sign_in
from tests.browser.test_pages import nothing_in, season_file
from tests.browser.visits import Visit, address, lay_tickets, visits
from tests.serving import EMPTY, GROUND, PASSWORD, Server, make_database

__all__ = ["season_file"]  # a fixture, taken over as it is
pytestmark = pytest.mark.browser

NO_SITE = f"""{EMPTY}
from members.models import Cooperative, Member
Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40)
Member.objects.create_member("ada", "Ada", {PASSWORD!r})
"""
FORM = "main form[method=post]:not([hidden])"
#: As long as most names may be: one is a word that nothing can break, the other has places to break it.
LONG = ("Gartenabfallkompostierungsgenossenschaft", "The far heap by the old glasshouse, dusk")
LONG_NAMES = f"""{GROUND}
from tests.hostile import ground
Member.objects.create_member("edda", "Edda", {PASSWORD!r})
ground.lay(3)
ground.spoil({LONG!r})
"""


@pytest.fixture
def opened(browser: Browser) -> Iterator[dict[str, Page]]:
    """A phone on which somebody may be signed in who holds every role, and one of nobody."""
    contexts = {who: chromium.new_phone(browser, worker=False) for who in ("all roles", "nobody")}
    yield {who: context.new_page() for who, context in contexts.items()}
    for context in contexts.values():
        context.close()


def come_in(page: Page, server: Server, username: str, password: str = PASSWORD) -> None:
    """Sign somebody in, who then holds every role."""
    server.rows(
        "update members_member set is_coordinator = 1, is_treasurer = 1, is_administrator = 1 where username = ?",
        username,
    )
    sign_in(page, server, username, password)
    count_as_proved(page, server)


def look_at_all(chosen: list[Visit], opened: dict[str, Page], server: Server, axe: bool = True) -> measuring.Found:
    """What is wrong on any of these pages, by page and measure."""
    found = {}
    for visit in chosen:
        page = opened["nobody" if visit.role == "nobody" else "all roles"]
        answer = page.goto(f"{server.url}{address(visit, server)}")
        assert answer and answer.status == 200, visit
        found |= looked_at(page, str(visit), axe)
    return found


def looked_at(page: Page, name: str, axe: bool = True) -> measuring.Found:
    """What is wrong on a page as it stands."""
    found = measuring.laid_out(page) | ({"axe": measuring.axe_at(page, 320)} if axe else {})
    return {f"{name}, {what}": said for what, said in found.items()}


def of_things(visit: Visit, *kinds: str) -> bool:
    """Whether all that a page's address is filled with is of these kinds."""
    return all(what in kinds for _key, what in visit.filled)


def test_a_cooperative_without_a_site(
    one_server: Server, tmp_path: Path, hashed_assets: None, opened: dict[str, Page]
) -> None:
    one_server.begin_anew(make_database(tmp_path / "no_site.sqlite3", NO_SITE))
    come_in(opened["all roles"], one_server, "ada")
    nothing_in(look_at_all([one for one in visits() if of_things(one, "year")], opened, one_server))


def test_a_site_without_a_load(server: Server, opened: dict[str, Page]) -> None:
    come_in(opened["all roles"], server, "ada")
    chosen = [one for one in visits() if one.filled and of_things(one, "own site", "own bay", "own container")]
    nothing_in(look_at_all(chosen, opened, server))


def test_names_as_long_as_they_may_be(
    one_server: Server, tmp_path: Path, hashed_assets: None, opened: dict[str, Page]
) -> None:
    one_server.begin_anew(make_database(tmp_path / "long.sqlite3", LONG_NAMES))
    lay_tickets(one_server, "ada", made_by="edda")
    come_in(opened["all roles"], one_server, "edda")
    nothing_in(look_at_all(visits(), opened, one_server, axe=False))


def test_a_form_sent_empty(one_server: Server, season_file: Path, opened: dict[str, Page]) -> None:
    one_server.begin_anew(season_file)
    lay_tickets(one_server, "yarrow", made_by="tansy")
    come_in(opened["all roles"], one_server, "tansy", DEMO_PASSWORD)
    found: measuring.Found = {}
    came_back = []
    for visit in (one for one in visits() if one.refuses):
        page = opened["nobody" if visit.role == "nobody" else "all roles"]
        page.goto(f"{one_server.url}{address(visit, one_server)}")
        if page.locator(FORM).count() and send_empty(page):
            came_back.append(visit.name)
            found |= looked_at(page, str(visit))
    nothing_in(found)
    assert len(came_back) > 15, came_back


def send_empty(page: Page) -> bool:
    """Clear the page's largest form and send it past the browser's own checks. Whether it says what is missing."""
    with page.expect_navigation():
        page.evaluate(
            """(all) => {
            const forms = [...document.querySelectorAll(all)];
            const form = forms.sort((a, b) => b.elements.length - a.elements.length)[0];
            for (const one of form.elements) {
              if (one.matches('input:not([type=hidden], [type=checkbox], [type=radio]), textarea')) one.value = '';
            }
            form.noValidate = true;
            form.requestSubmit(form.querySelector('button[type=submit], button:not([type])'));
        }""",
            FORM,
        )
    return page.locator(".error-list").count() > 0


def test_the_first_start(page: Page, one_server: Server, tmp_path: Path) -> None:
    one_server.begin_anew(make_database(tmp_path / "empty.sqlite3", EMPTY))
    for where in (reverse("members:first_start", args=[first_start_code()]), "/drop-off/"):
        page.goto(f"{one_server.url}{where}")
        nothing_in(measuring.everything(page))
