"""Pages in another language on a real phone: all of it is said in that language, and nothing is too wide for 320 px."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from playwright.sync_api import Browser, BrowserContext, Page

from tests import chromium, pseudo
from tests.browser.steps import open_recording, wait_for_worker
from tests.browser.test_hostile import database_beside_the_loop
from tests.browser.visits import NO_PAGES
from tests.hostile import ground
from tests.hostile.conftest import ROWS, Laid, browsers, laid, other_site, peopled, who_may
from tests.serving import Server, free_port
from tests.test_access import PAGES
from tests.unspoken import literals

__all__ = ["browsers", "database_beside_the_loop", "laid", "other_site", "peopled"]  # fixtures, taken over as they are
pytestmark = pytest.mark.browser

NARROW = {"viewport": {"width": 320, "height": 640}}
#: What sticks out of the window, or holds more than it shows; with its beginning, so that it can be found.
CUT = """() => {
    const wide = document.documentElement.clientWidth;
    const told = (one) => `${one.tagName}.${one.className} ${one.textContent.trim().slice(0, 50)}`;
    const seen = [...document.body.querySelectorAll('*')].filter((one) =>
        one.checkVisibility({ checkVisibilityCSS: true }) && !one.closest('.skip, .unseen, svg, option, thead'));
    const out = seen.filter((one) => one.getBoundingClientRect().right > wide + 1);
    const cut = seen.filter((one) => {
        const style = getComputedStyle(one);
        const hides = ['hidden', 'clip'].includes(style.overflowX) || ['hidden', 'clip'].includes(style.overflowY);
        return hides && (one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1);
    });
    const pressed = seen.filter((one) => one.matches('button, .button, select') && !one.matches('select')
        && one.scrollWidth > one.clientWidth + 1);
    return [...new Set([...out, ...cut, ...pressed].map(told))].slice(0, 8);
}"""


@pytest.fixture(scope="module")
def speaking(hashed_assets: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server whose cooperative speaks the invented language."""
    var = tmp_path_factory.mktemp("var")
    pseudo.write(var / "locale")
    (var / "static").symlink_to(Path(settings.STATIC_ROOT))
    extra = {"HEAPS_VAR": str(var), "HEAPS_LANGUAGE": pseudo.CODE}
    server = Server(tmp_path_factory.mktemp("speaking") / "heaps.sqlite3", free_port(), extra)
    server.odd.mkdir()
    yield server
    server.kill()


@pytest.fixture
def told(speaking: Server, laid: Laid, tmp_path: Path) -> Laid:
    """The rows of the test, all free words marked as data, given to that server."""
    ground.spoil([f"‹datum {number}›" for number in range(ROWS)])
    copy = tmp_path / "copy.sqlite3"
    copy.write_bytes(connection.connection.serialize())
    speaking.begin_anew(copy)
    return laid


def phone_of(browser: Browser, server: Server, laid: Laid, role: str) -> BrowserContext:
    """A narrow phone on which somebody of that role is signed in."""
    phone = chromium.new_phone(browser, **NARROW)
    cookies = {name: one.value for name, one in laid.browsers[role].cookies.items()}
    phone.add_cookies([{"name": name, "value": value, "url": server.url} for name, value in cookies.items()])
    return phone


def test_every_page_fits_a_narrow_phone_and_says_nothing_in_english(
    browser: Browser, speaking: Server, told: Laid
) -> None:
    found: dict[str, Any] = {}
    for role in ("nobody", "administrator"):
        phone = phone_of(browser, speaking, told, role)
        page = phone.new_page()
        for number, row in enumerate(PAGES):
            if row["name"] not in NO_PAGES and who_may(row, "GET")[-1:] == [role]:
                page.goto(f"{speaking.url}{told.places[number, role]}")
                look(page, row["name"], found)
        phone.close()
    assert not found, json.dumps(found, indent=1, ensure_ascii=False)


def look(page: Page, name: str, found: dict[str, Any]) -> None:
    """Whether all of a page is wide open, within the window, and in its own language."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    wrong = [*page.evaluate(CUT), *literals(page.content())]
    if wrong:
        found[f"{name} {len(found)}"] = wrong


def test_what_the_scripts_say_is_in_that_language_too(browser: Browser, speaking: Server, told: Laid) -> None:
    found: dict[str, Any] = {}
    phone = phone_of(browser, speaking, told, "administrator")
    page = phone.new_page()
    open_recording(page, speaking)
    wait_for_worker(page)
    phone.set_offline(True)
    page.reload()
    page.locator("#entries > li").first.wait_for()
    page.locator("#materials label").first.tap()
    page.locator("#keep").tap()
    page.locator("#kept:not([hidden])").wait_for()
    look(page, "the recording page, kept by the phone, with an entry", found)
    for button in page.locator("#kinds button").all():
        button.tap()
        look(page, "a form of the recording page", found)
    page.goto(f"{speaking.url}/guide/?q=zzz")
    look(page, "the guide, searched without a network", found)
    phone.set_offline(False)
    page.goto(f"{speaking.url}/drop-off/more/")
    page.locator("#kinds button").first.wait_for()
    for button in page.locator("#kinds button").all():
        button.tap()
        look(page, "a form of the page for something else", found)
        page.locator("#back").tap()
    phone.close()
    assert not found, json.dumps(found, indent=1, ensure_ascii=False)
