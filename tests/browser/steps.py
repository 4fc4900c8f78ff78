"""What a person does with a phone, and what can be seen in it."""

import time
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page

from members.access import PROVED_KEY
from members.sessions import SessionStore
from tests.chromium import PATIENCE_MS
from tests.serving import PASSWORD, Server

#: Each write is taken, and then its transaction fails: so a full disk shows. (The quota that the browser's own
#: tools can set had no effect in Chromium 156.)
FULL_DISK = """() => {
    const real = IDBObjectStore.prototype.put;
    globalThis.disk_is_full = true;
    IDBObjectStore.prototype.put = function (...given) {
        const asked = real.apply(this, given);
        asked.addEventListener('success', () => { if (disk_is_full) asked.transaction.abort(); });
        return asked;
    };
}"""
SETTING = """(key) => new Promise((done, fail) => {
    const ask = indexedDB.open('heaps', 1);
    ask.onerror = () => fail(ask.error);
    ask.onsuccess = () => {
        try {
            ask.result.transaction('settings').objectStore('settings').get(key).onsuccess = ({target}) => {
                done(target.result ?? null); ask.result.close();
            };
        } catch (fault) { fail(fault); ask.result.close(); }
    };
})"""
STORED = """(name) => new Promise((done, fail) => {
    const ask = indexedDB.open('heaps', 1);
    ask.onerror = () => fail(ask.error);
    ask.onsuccess = () => {
        try {
            ask.result.transaction(name).objectStore(name).getAll().onsuccess = ({target}) => {
                done(target.result); ask.result.close();
            };
        } catch (fault) { fail(fault); ask.result.close(); }
    };
})"""


def open_recording(page: Page, server: Server) -> None:
    """Open the recording page and wait until it is ready for a thumb."""
    page.goto(f"{server.url}/drop-off/")
    page.locator("#entries > li").first.wait_for()


def sign_in(page: Page, server: Server, username: str = "ada", password: str = PASSWORD) -> None:
    """Sign in and come back to the recording page."""
    page.goto(f"{server.url}/sign-in/?next=/drop-off/")
    page.fill("[name=username]", username)
    page.fill("[name=password]", password)
    page.locator("main form button[type=submit]").click()
    page.wait_for_url(f"{server.url}/drop-off/")
    wait_until_known(page)


def wait_until_known(page: Page) -> None:
    """Wait until the recording page knows who is here: what is kept before is nobody's yet, and asked about."""
    page.locator("#entries > li").first.wait_for()
    wait_until(page, lambda: bool(setting(page, "person")))


def count_as_proved(page: Page, server: Server) -> None:
    """As if whoever is signed in here had just shown a passkey."""
    key = next(cookie["value"] for cookie in page.context.cookies() if cookie["name"] == "session")
    ((text,),) = server.rows("select session_data from members_session where session_key = ?", key)
    said = SessionStore().decode(text) | {PROVED_KEY: {"passkey": int(time.time())}}
    server.rows("update members_session set session_data = ? where session_key = ?", SessionStore().encode(said), key)


def sign_out(page: Page, server: Server) -> None:
    """Sign out from any page."""
    page.goto(f"{server.url}/guide/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-out/")


def record_coffee(page: Page) -> None:
    """One bucket of coffee grounds into the bay that is offered."""
    page.locator("#materials label", has_text="Coffee").tap()
    page.evaluate("document.getElementById('kept').hidden = true")  # what it said of a load before
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()


def write_words(page: Page, words: str) -> None:
    """Type a few words with the entry."""
    page.locator("#more summary").tap()
    page.fill("[name=words]", words)


def wait_for_worker(page: Page) -> None:
    """Wait until the page can open without a network."""
    assert page.evaluate(
        """Promise.race([navigator.serviceWorker.ready.then(() => true),
            new Promise((done) => setTimeout(done, 20000, false))])"""
    ), "the phone did not keep the page"


def wait_until(page: Page, holds: Callable[[], bool], seconds: float = PATIENCE_MS / 1000) -> None:
    """Wait until something is true that no element shows; the page's own requests go on meanwhile."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, f"did not come true in time; the page says: {page.locator('body').inner_text()}"
        page.wait_for_timeout(50)


def stored(page: Page, name: str) -> list[dict[str, Any]]:
    """Everything in one of the phone's stores."""
    found: list[dict[str, Any]] = page.evaluate(STORED, name)
    return found


def setting(page: Page, key: str) -> Any:
    """What the phone remembers under a key."""
    return page.evaluate(SETTING, key)


def draft(page: Page) -> Any:
    """What somebody began last: their own, or what was begun before anybody signed in."""
    return top_draft(page, f"draft {setting(page, 'person')}") or top_draft(page, "draft")


def top_draft(page: Page, key: str) -> Any:
    """What lies on top of a pile of what was begun."""
    return next(iter(setting(page, key) or []), None)
