"""What the phone keeps of the pages: all of it fetchable, renewed only at a good moment, gone with a sign-out."""

import json
import re
import urllib.request

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import record_coffee, sign_in, sign_out, stored, wait_for_worker, wait_until, write_words
from tests.serving import NEWER_WORKER, PROXY_ALONE, Server

pytestmark = pytest.mark.browser

CACHES = "() => caches.keys().then((names) => names.filter((name) => name.startsWith('heaps-')))"
EVERYTHING_CACHED = """async () => {
    const texts = [];
    for (const name of await caches.keys()) {
        const kept = await caches.open(name);
        for (const request of await kept.keys()) {
            texts.push(request.url, await (await kept.match(request)).text());
        }
    }
    return texts;
}"""
UPDATE = "() => navigator.serviceWorker.ready.then((one) => one.update()).then(() => null)"
WAITING_WORKER = "() => navigator.serviceWorker.ready.then((one) => Boolean(one.waiting))"
NEW = "heaps-0123456789abcdef"


def test_every_address_that_a_phone_keeps_is_there(server: Server) -> None:
    text = urllib.request.urlopen(f"{server.url}/service-worker.js").read().decode()
    found = re.search(r"^const known = (\{.*\});$", text, re.M)
    assert found
    known = json.loads(found[1])
    assert known["files"]
    for address in [*known["files"], *known["shells"]]:
        assert urllib.request.urlopen(server.url + address).status == 200


def test_a_new_version_waits_until_nothing_is_typed(page: Page, server: Server) -> None:
    wait_for_worker(page)
    page.reload()  # from now on the page comes from the worker
    page.locator("#entries > li").first.wait_for()
    (old,) = page.evaluate(CACHES)
    write_words(page, "From the market")
    wait_until(page, lambda: any("market" in str(one) for one in stored(page, "settings")))
    (server.odd / NEWER_WORKER).touch()
    page.evaluate(UPDATE)
    wait_until(page, lambda: bool(page.evaluate(WAITING_WORKER)))
    page.reload()
    expect(page.locator("[name=words]")).to_have_value("From the market")
    page.wait_for_timeout(500)
    assert page.evaluate(WAITING_WORKER) is True
    assert sorted(page.evaluate(CACHES)) == sorted([old, NEW])

    page.get_by_role("button", name="Start afresh").tap()
    wait_until(page, lambda: not any("market" in str(one) for one in stored(page, "settings")))
    page.reload()
    wait_until(page, lambda: page.evaluate(CACHES) == [NEW] or put_away(page))
    assert page.evaluate(WAITING_WORKER) is False


def put_away(page: Page) -> None:
    """A new worker waits until the old one is at rest, and a phone ends what rests within half a minute. While a
    debugger looks on, as here, Chromium 156 keeps it, and once in a hundred times never sees that it rests."""
    page.wait_for_timeout(2000)
    if page.evaluate(WAITING_WORKER):
        browser = page.context.new_cdp_session(page)
        browser.send("ServiceWorker.enable")
        browser.send("ServiceWorker.stopAllWorkers")
        browser.detach()


def test_heaps_and_guide_open_without_a_network_with_their_age_and_what_waits(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    sign_in(page, server)
    wait_for_worker(page)
    ((uid,),) = server.rows("select uid from heaps_bay where name = 'Bay 1'")
    heap = f"/heaps/{uid[:8]}-{uid[8:12]}-{uid[12:16]}-{uid[16:20]}-{uid[20:]}/"
    for where in ("/heaps/", heap, "/tub/", "/guide/"):
        page.goto(server.url + where)
        page.wait_for_load_state("networkidle")
    phone.set_offline(True)
    page.goto(f"{server.url}/drop-off/")
    page.locator("#entries > li").first.wait_for()
    record_coffee(page)

    page.goto(f"{server.url}/heaps/")
    expect(page.locator("main")).to_contain_text("As of")
    expect(page.locator("main time").first).to_be_visible()
    expect(page.locator("li[data-bay]", has_text="Bay 1")).to_contain_text("1 entry waiting on this phone")
    expect(page.locator("li[data-bay]", has_text="Bay 2")).not_to_contain_text("waiting on this phone")
    page.goto(server.url + heap)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Bay 1")
    expect(page.locator("main time").first).to_be_visible()
    expect(page.locator("main")).to_contain_text("1 entry waiting on this phone")
    page.goto(f"{server.url}/tub/")
    expect(page.locator("main")).to_contain_text("As of")
    page.goto(f"{server.url}/guide/")
    expect(page.locator("main")).to_contain_text("Coffee grounds")
    page.goto(f"{server.url}/collect/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Nothing answers just now")


def test_a_proxy_with_no_server_behind_it_is_as_no_network(page: Page, server: Server) -> None:
    sign_in(page, server)
    wait_for_worker(page)
    page.goto(f"{server.url}/heaps/")
    page.wait_for_load_state("networkidle")
    (server.odd / PROXY_ALONE).touch()
    page.reload()
    expect(page.locator("li[data-bay]", has_text="Bay 1")).to_be_visible()
    page.goto(f"{server.url}/collect/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Nothing answers just now")


def test_a_page_as_it_was_hours_ago_says_so(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    wait_for_worker(page)
    page.goto(f"{server.url}/heaps/")
    page.wait_for_load_state("networkidle")
    phone.set_offline(True)
    phone.clock.set_fixed_time(page.evaluate("Date.now() + 3 * 3600 * 1000"))
    page.reload()
    expect(page.locator("main")).to_contain_text("as this phone last saw it")


def test_whoever_signs_out_leaves_no_page_and_no_name(page: Page, server: Server) -> None:
    sign_in(page, server)
    wait_for_worker(page)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    page.goto(f"{server.url}/heaps/")
    page.wait_for_load_state("networkidle")
    assert any(url.endswith("/heaps/") for url in page.evaluate(EVERYTHING_CACHED)[::2])
    sign_out(page, server)
    kept = page.evaluate(EVERYTHING_CACHED)
    assert [url for url in kept[::2] if "/heaps/" in url and "/static/" not in url] == []
    kept_rows = json.dumps([stored(page, name) for name in ("waiting", "journal", "settings")])
    for name in ("Ada", "Bela", "Cleo"):
        assert not [text[:80] for text in kept if re.search(rf"\b{name}\b", text)]
        assert name not in kept_rows
    page.context.set_offline(True)
    page.goto(f"{server.url}/heaps/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Nothing answers just now")
