"""The worker is updated while somebody types, three times in a row, or broken: no letter and no entry is lost by it."""

import pytest
from playwright.sync_api import BrowserContext, Error, Page, expect

from tests.browser.steps import draft, record_coffee, sign_in, stored, wait_for_worker, wait_until, write_words
from tests.browser.test_worker import put_away
from tests.serving import BROKEN_WORKER, NEWER_WORKER, WORKER_OFF, Server

pytestmark = pytest.mark.browser

UPDATE = "() => navigator.serviceWorker.ready.then((one) => one.update()).then(() => null, String)"
WORKERS = "() => navigator.serviceWorker.getRegistrations().then((all) => all.length)"
#: Whether the worker that keeps its pages under that name has come to its end of installing.
WAITS = """async (name) => {
    const { waiting, installing } = await navigator.serviceWorker.ready;
    return Boolean(waiting) && !installing && await caches.has(name);
}"""
#: Takes over at once and answers every page with an error.
HARMFUL = """
self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  if (event.request.mode === "navigate") event.respondWith(Response.error());
});
"""


@pytest.fixture
def kept_page(page: Page, server: Server) -> Page:
    """Somebody is signed in on a phone that has the page, and the page came from the worker."""
    sign_in(page, server)
    wait_for_worker(page)
    page.reload()
    page.locator("#entries > li").first.wait_for()
    return page


def type_words(page: Page, words: str) -> None:
    write_words(page, words)
    wait_until(page, lambda: (draft(page) or {}).get("words") == words)


@pytest.mark.parametrize("reloads", [False, True], ids=["the old page stays open", "reloaded each time"])
def test_three_updates_in_a_row_cost_no_letter_and_the_page_sends_to_the_new_server(
    kept_page: Page, server: Server, reloads: bool
) -> None:
    page, words = kept_page, "From the market, half of it wet. ½ ä 🍂"
    type_words(page, words)
    for number in (1, 2, 3):
        (server.odd / NEWER_WORKER).write_text(f"{number:016}")
        wait_until(page, lambda number=number: is_updated(page, number))
        if reloads:
            page.reload()
            page.locator("#entries > li").first.wait_for()
        expect(page.locator("[name=words]")).to_have_value(words)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.rows("select words from heaps_entry") == [(words,)]


def is_updated(page: Page, number: int) -> bool:
    """Let the browser look for a newer worker, as it does when a page is opened: a busy server may not answer at once.
    Whether the one of this number waits now."""
    return page.evaluate(UPDATE) is None and page.evaluate(WAITS, f"heaps-{number:016}")


def test_a_worker_that_cannot_even_start_changes_nothing(
    kept_page: Page, phone: BrowserContext, server: Server
) -> None:
    page = kept_page
    type_words(page, "From the market")
    (server.odd / BROKEN_WORKER).write_text('throw new Error("broken");')
    assert "TypeError" in page.evaluate(UPDATE)
    phone.set_offline(True)
    page.reload()
    expect(page.locator("[name=words]")).to_have_value("From the market")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting, kept on this phone")
    phone.set_offline(False)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.rows("select words from heaps_entry") == [("From the market",)]


def test_a_worker_that_does_harm_is_taken_off_and_what_was_recorded_stays(
    kept_page: Page, phone: BrowserContext, server: Server
) -> None:
    page = kept_page
    phone.set_offline(True)
    record_coffee(page)
    type_words(page, "Half typed")
    phone.set_offline(False)
    (server.odd / BROKEN_WORKER).write_text(HARMFUL)
    page.evaluate(UPDATE)
    wait_until(page, lambda: not opens(page, server) or bool(put_away(page)))

    (server.odd / BROKEN_WORKER).unlink()
    (server.odd / WORKER_OFF).touch()
    # the first may still go wrong: some time after it the browser fetches what takes the worker off
    wait_until(page, lambda: opens(page, server) or bool(page.wait_for_timeout(2500)))
    expect(page.locator("[name=words]")).to_have_value("Half typed")
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 1
    assert len(stored(page, "journal")) == 1

    (server.odd / WORKER_OFF).unlink()
    page.reload()
    wait_for_worker(page)
    wait_until(page, lambda: page.evaluate(WORKERS) == 1)


def opens(page: Page, server: Server) -> bool:
    """Whether the recording page can be opened."""
    try:
        page.goto(f"{server.url}/drop-off/")
    except Error:
        return False
    page.locator("#entries > li").first.wait_for()
    return True
