"""No string that somebody typed runs in a real browser: on a page, with the policy on and off, or kept on a phone."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from playwright.sync_api import Browser, BrowserContext, Error, Page

from tests import chromium
from tests.browser.conftest import Server
from tests.browser.steps import open_recording
from tests.browser.visits import NO_PAGES, TELL_REPORTS
from tests.hostile import ground
from tests.hostile.conftest import ROWS, Laid, browsers, laid, other_site, peopled, who_may
from tests.hostile.corpus import HOSTILE, bundles
from tests.sendings import NOON
from tests.test_access import PAGES, ROLES

__all__ = ["browsers", "laid", "other_site", "peopled"]  # fixtures, taken over as they are
pytestmark = pytest.mark.browser

KEPT_AT_ONCE = 50
PUT = """([store, records]) => new Promise((done, fail) => {
    indexedDB.open('heaps').onsuccess = ({target}) => {
        const act = target.result.transaction(store, 'readwrite');
        act.oncomplete = () => { target.result.close(); done(); };
        act.onabort = () => fail(act.error);
        act.objectStore(store).clear();
        for (const [key, one] of records) act.objectStore(store).put(one, ...(key ? [key] : []));
    };
})"""


@dataclass
class Watch:
    """A phone, and all it did that nobody asked for."""

    phone: BrowserContext
    page: Page
    done: list[str] = field(default_factory=list)

    def look(self, where: str) -> None:
        """Whether anything has run on the page as it is."""
        for frame in self.page.frames:
            if frame.evaluate("window.__hit !== undefined"):
                self.done.append(f"{where}: it ran")
        if len(self.page.frames) > 1:
            self.done.append(f"{where}: a page within the page")


@pytest.fixture(scope="module", autouse=True)
def database_beside_the_loop() -> Iterator[None]:
    """Playwright runs a loop in this thread, in which Django would not touch its database; nothing else does so."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        yield


def watched(browser: Browser, server: Server, cookies: dict[str, str], **more: Any) -> Watch:
    """A new phone that is signed in by its cookies, and watched."""
    phone = chromium.new_phone(browser, worker=False, **more)
    phone.add_cookies([{"name": name, "value": value, "url": server.url} for name, value in cookies.items()])
    phone.add_init_script(TELL_REPORTS)
    watch = Watch(phone, phone.new_page())
    page = watch.page

    def dialog(shown: Any) -> None:
        watch.done.append(f"a dialog: {shown.message}")
        shown.dismiss()

    def request(asked: Any) -> None:
        if not asked.url.startswith((f"{server.url}/", "data:image/", "blob:")):
            watch.done.append(f"asked elsewhere: {asked.url[:200]}")

    def console(said: Any) -> None:
        if said.type == "error" and ("policy" in said.text.lower() or "content security" in said.text.lower()):
            watch.done.append(f"the policy had to stop it: {said.text[:200]}")

    page.on("dialog", dialog)
    page.on("request", request)
    page.on("console", console)
    page.on("pageerror", lambda fault: watch.done.append(f"a fault: {fault}"[:200]))
    return watch


@pytest.fixture
def spoil(laid: Laid, server: Server, tmp_path: Path) -> Iterator[Any]:
    """Fills every free field with the texts, beginning at one of them, and gives that database to the server."""

    def spoil(start: int) -> None:
        ground.spoil(bundles(ROWS), start)
        copy = tmp_path / f"{start}.sqlite3"
        copy.write_bytes(connection.connection.serialize())  # what is not committed, too: a backup would wait for it
        server.begin_anew(copy)

    yield spoil


def test_nothing_runs_on_any_page_with_the_policy_on(browser: Browser, server: Server, laid: Laid, spoil: Any) -> None:
    spoil(0)
    assert walk(browser, server, laid, every_role=True) == []


@pytest.mark.parametrize("start", range(ROWS))
def test_nothing_runs_on_any_page_with_the_policy_off(
    browser: Browser, server: Server, laid: Laid, spoil: Any, start: int
) -> None:
    spoil(start)
    assert walk(browser, server, laid, every_role=False, bypass_csp=True) == []


def walk(browser: Browser, server: Server, laid: Laid, every_role: bool, **more: Any) -> list[str]:
    """Open every page of the table, on the screen and as if printed: for the highest role, and the first for all."""
    done: list[str] = []
    for role in ROLES:
        cookies = {name: one.value for name, one in laid.browsers[role].cookies.items()}
        watch = watched(browser, server, cookies, **more)
        for number, page in enumerate(PAGES):
            may = who_may(page, "GET")
            if page["name"] in NO_PAGES or role not in may:
                continue
            if role == may[-1] or (every_role and page["name"] in ("heaps:home", "heaps:board")):
                open_and_look(watch, f"{server.url}{laid.places[number, role]}", f"{page['name']} as {role}")
        watch.phone.close()
        done += watch.done
    return done


def open_and_look(watch: Watch, url: str, where: str) -> None:
    """Open a page, and look at it on the screen and as it is printed."""
    try:
        answer = watch.page.goto(url)
    except Error as fault:
        if "Download is starting" in str(fault):
            return
        raise
    assert answer is None or answer.status < 500, where
    watch.look(where)
    watch.page.emulate_media(media="print")
    watch.look(f"{where}, printed")
    watch.page.emulate_media(media="screen")


def test_what_a_phone_keeps_never_runs(browser: Browser, server: Server, laid: Laid, spoil: Any) -> None:
    spoil(0)
    watch = watched(browser, server, {}, bypass_csp=True)
    open_recording(watch.page, server)
    site, bay = watch.page.evaluate(
        "(() => { const {sites} = JSON.parse(document.getElementById('now').textContent);"
        " return [sites[0].uid, sites[0].bays[0].uid]; })()"
    )
    for first in range(0, len(HOSTILE), KEPT_AT_ONCE):
        texts = HOSTILE[first : first + KEPT_AT_ONCE]
        for store, records in kept(site, bay, texts).items():
            watch.page.evaluate(PUT, [store, records])
        open_recording(watch.page, server)
        watch.page.locator("#entries > li").nth(len(texts) - 1).wait_for()
        said = watch.page.locator("#entries").inner_text()
        assert "needs you" in said or "waiting" in said
        watch.look(f"the recording page from {first}")
    watch.phone.close()
    assert watch.done == []


def kept(site: str, bay: str, texts: list[str]) -> dict[str, list[Any]]:
    """What a phone may hold: entries that wait or were refused, the journal, an unfinished entry, and its settings."""
    now_ms = 4_000_000_000_000  # never a day old
    entries = [
        {
            "wire": 1,
            "uid": f"{number:08x}-0000-4000-8000-000000000000",
            "kind": "note",
            "site": site,
            "bay": bay,
            "occurred_at": NOON.isoformat(),
            "details": {},
            "words": text,
        }
        for number, text in enumerate(texts)
    ]
    pairs = list(zip(entries, texts, strict=True))
    mark = {"person": None, "kept_at": now_ms}
    waiting = [
        [None, {"uid": one["uid"], "entry": one, "refused": text if number % 2 else None, **mark}]
        for number, (one, text) in enumerate(pairs)
    ]
    journal = [
        [None, {"uid": f"f{one['uid'][1:]}", "entry": one, "sent_at": now_ms, "state": "parked", "reason": text}]
        for one, text in pairs[:5]
    ]
    draft = {
        "at": now_ms,
        "panel": "note",
        "site": site,
        "bay": bay,
        "raw": [["words", texts[0]]],
        "words": texts[0],
        "when": "",
    }
    last = {"feedstock": texts[-1], "container": texts[-1], "ml": texts[-1], "count": 2, "site": texts[-1]}
    return {
        "waiting": waiting,
        "journal": journal,
        "settings": [["draft", draft], ["last", last], ["device", texts[0]]],
    }


def test_the_walk_would_notice(browser: Browser, server: Server) -> None:
    watch = watched(browser, server, {}, bypass_csp=True)
    watch.page.goto(f"{server.url}/guide/")
    watch.page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img src=x onerror=window.__hit=1>')")
    watch.page.wait_for_function("window.__hit")
    watch.look("here")
    watch.page.evaluate("alert(1)")
    watch.page.evaluate("fetch('https://elsewhere.invalid/').catch(() => null)")
    assert [one.split(":")[0] for one in watch.done] == ["here", "a dialog", "asked elsewhere"]
    assert settings.SESSION_COOKIE_NAME == "session"  # the name by which the walk signs in
    watch.phone.close()
