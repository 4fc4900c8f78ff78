"""Every page, for the people who may see it: read and used at each width, with large words, by keyboard, on paper."""

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Page

from cooperative.demo import PASSWORD
from tests import chromium
from tests.browser import measuring
from tests.browser.steps import count_as_proved, sign_in
from tests.browser.visits import TELL_REPORTS, Visit, address, lay_tickets, visits
from tests.serving import FORECASTS, SEASON, Server, make_database

pytestmark = pytest.mark.browser

MOMENT = "2026-10-17T10:00:00+00:00"
WHO = {"nobody": None, "member": "yarrow", "coordinator": "bryony", "treasurer": "sorrel", "administrator": "tansy"}


@pytest.fixture(scope="session")
def season_file(hashed_assets: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's two years."""
    return make_database(
        tmp_path_factory.mktemp("season") / "season.sqlite3", (SEASON + FORECASTS).format(moment=MOMENT)
    )


@pytest.fixture(scope="module")
def season(one_server: Server, season_file: Path) -> Server:
    """The server, with a season behind it."""
    one_server.begin_anew(season_file)
    lay_tickets(one_server, "yarrow", made_by="tansy")
    return one_server


@pytest.fixture(scope="module")
def phones(browser: Browser, season: Server) -> Iterator[dict[str, Page]]:
    """A phone for each role, signed in."""
    contexts: dict[str, BrowserContext] = {role: chromium.new_phone(browser, worker=False) for role in WHO}
    pages = {}
    for role, context in contexts.items():
        context.add_init_script(TELL_REPORTS)
        pages[role] = context.new_page()
        if username := WHO[role]:
            sign_in(pages[role], season, username, PASSWORD)
            count_as_proved(pages[role], season)
    yield pages
    for context in contexts.values():
        context.close()


@pytest.mark.parametrize("visit", visits(), ids=str)
def test_a_page_can_be_read_and_used_by_everybody_who_may_see_it(
    visit: Visit, phones: dict[str, Page], season: Server
) -> None:
    page = phones[visit.role]
    with overheard(page, season) as told:
        answer = page.goto(f"{season.url}{address(visit, season)}")
        assert answer and answer.status == 200
        found = measuring.everything(page)
    nothing_in(found | {"told": told})


def test_what_is_shown_once_can_be_read_and_used(phones: dict[str, Page], season: Server) -> None:
    page = phones["coordinator"]
    page.goto(f"{season.url}{reverse('members:invite')}")
    page.get_by_role("button", name="At the gate now").tap()
    page.locator("img.scan").wait_for()
    nothing_in(measuring.everything(page))


def test_the_board_s_script_fills_in_what_nobody_had_reckoned(phones: dict[str, Page], season: Server) -> None:
    season.rows("delete from heaps_keptadvice")
    page = phones["member"]
    page.goto(f"{season.url}{reverse('heaps:board')}")
    lines = page.locator("[data-to-reckon]")
    lines.filter(has_text=re.compile("From the store|The store cannot do it|One day's work")).first.wait_for()
    told, needs = lines.all_text_contents(), page.locator(".waits, .bay-list").all_inner_texts()
    page.reload()
    assert lines.all_text_contents() == told
    assert page.locator(".waits, .bay-list").all_inner_texts() == needs, "no rough number beside the right one"
    assert page.locator("[data-to-reckon='']").count() == len(told)  # it is kept now, and not asked for again


@contextmanager
def overheard(page: Page, server: Server) -> Iterator[list[str]]:
    """What a page complains of, and what it asks of anybody but us."""
    told: list[str] = []
    heard = {
        "console": lambda message: told.append(message.text) if message.type == "error" else None,
        "pageerror": lambda error: told.append(str(error)),
        "request": lambda asked: told.append(asked.url) if not asked.url.startswith((server.url, "data:")) else None,
    }
    for event, listener in heard.items():
        page.on(event, listener)  # type: ignore[call-overload]  # every event of the list
    yield told
    for event, listener in heard.items():
        page.remove_listener(event, listener)


def nothing_in(found: measuring.Found) -> None:
    """Nothing was found by any of the measures."""
    wrong = {what: said for what, said in found.items() if said}
    assert wrong == {}, json.dumps(wrong, indent=1, ensure_ascii=False)
