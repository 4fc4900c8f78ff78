"""What the volunteer sees in each case: in plain words, with what to do, and never "sent" when it was not."""

import json
import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.browser.steps import (
    open_recording,
    record_coffee,
    setting,
    sign_in,
    sign_out,
    stored,
    top_draft,
    wait_until,
    write_words,
)
from tests.serving import Server

pytestmark = pytest.mark.browser

PUT = """([name, records]) => new Promise((done, fail) => {
    indexedDB.open('heaps', 1).onsuccess = ({target}) => {
        const act = target.result.transaction(name, 'readwrite');
        act.oncomplete = () => { target.result.close(); done(); };
        act.onabort = () => fail(act.error);
        for (const one of records) act.objectStore(name).put(one);
    };
})"""
NO_NETWORK = """() => {
    Object.assign(globalThis, { tries: 0, real: fetch });
    globalThis.fetch = () => { globalThis.tries += 1; return Promise.reject(new TypeError('No network.')); };
}"""
FULL = "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('Full.', 'QuotaExceededError'); }; }"
ANSWERS: dict[str, tuple[dict[str, Any], str]] = {
    "a captive portal's page": ({"status": 200, "content_type": "text/html", "body": "<html>Sign in</html>"},
                                "Another page answered. Does this network want a sign-in?"),
    "a redirect": ({"status": 302, "headers": {"Location": "/sign-in/"}, "body": ""}, "Another page answered."),
    "403": ({"status": 403, "content_type": "text/html", "body": "<html>No</html>"}, "The server did not take them."),
    "413": ({"status": 413, "content_type": "text/html", "body": "<html>No</html>"}, "The server did not take them."),
    "429": ({"status": 429, "headers": {"Retry-After": "1"}, "body": ""}, "The server is busy."),
    "503": ({"status": 503, "headers": {"Retry-After": "1"}, "body": ""}, "The server is busy."),
    "a reason": ({"status": 503, "content_type": "application/json", "body": '{"reason": "The disk is full."}'},
                          "The disk is full."),
}  # fmt: skip
#: What no answer of a server, and no record that it lacks, may bring on the page.
SENT = ("All sent", "✓ sent")


def says_not_sent(page: Page) -> None:
    for words in SENT:
        expect(page.locator("main")).not_to_contain_text(words)


@pytest.mark.parametrize("case", ANSWERS)
def test_an_answer_that_is_none_is_said_in_plain_words(page: Page, server: Server, case: str) -> None:
    answer, said = ANSWERS[case]
    sign_in(page, server)
    page.route("**/sync/", lambda route: route.fulfill(**answer))
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting, kept on this phone.")
    expect(page.locator("#state")).to_contain_text(said)
    expect(page.get_by_text("If the browser's data is cleared, what waits here is lost.")).to_be_visible()
    says_not_sent(page)


def test_no_signal_and_no_answer_in_time_are_said(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting, kept on this phone.  No connection.")
    phone.set_offline(False)
    expect(page.locator("#state")).to_contain_text("All sent")
    page.evaluate("() => { globalThis.fetch = () => Promise.reject(new DOMException('late', 'AbortError')); }")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("No answer in time.")
    expect(page.locator("#state")).not_to_contain_text("All sent")


def test_a_network_that_comes_back_unsaid_is_tried_within_a_minute(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    """After ten failures as after one: no event tells a phone that the server can be reached again."""
    phone.clock.install()
    open_recording(page, server)
    sign_in(page, server)
    page.evaluate(NO_NETWORK)
    record_coffee(page)
    for number in range(1, 11):
        phone.clock.run_for(60_000)
        wait_until(page, lambda least=number: page.evaluate("tries") > least)  # type: ignore[misc]  # each its own
    page.evaluate("() => { globalThis.fetch = real; }")
    phone.clock.run_for(60_000)
    wait_until(page, lambda: server.entries == 1)


def test_what_could_not_be_kept_can_be_carried_off_in_words(page: Page, phone: BrowserContext, server: Server) -> None:
    phone.grant_permissions(["clipboard-read", "clipboard-write"])
    page.evaluate(FULL)
    page.locator("#materials label", has_text="Coffee").tap()
    write_words(page, "half of it wet")
    page.locator("#keep").tap()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("Not kept")
    expect(alert).to_contain_text("1 × Bucket of coffee grounds into Bay 1: “half of it wet”")
    alert.get_by_role("button", name="Copy it").tap()
    expect(alert).to_contain_text("Copied")
    assert "half of it wet" in page.evaluate("navigator.clipboard.readText()")
    expect(page.locator("[name=words]")).to_have_value("half of it wet")
    says_not_sent(page)


def test_a_store_that_does_not_open_says_so_and_keeps_the_form(page: Page, server: Server) -> None:
    page.add_init_script("indexedDB.open = () => { throw new DOMException('Gone.', 'UnknownError'); }")
    page.goto(f"{server.url}/drop-off/")
    expect(page.locator("#state")).to_contain_text("This phone's store does not open.")
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#keep").tap()
    expect(page.get_by_role("alert")).to_contain_text("Not kept")
    expect(page.locator("#kept")).to_be_hidden()


def test_a_store_that_is_emptied_under_the_page_does_not_pretend(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    record_coffee(page)
    page.evaluate("new Promise((done) => { indexedDB.deleteDatabase('heaps').onsuccess = done; })")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting")
    assert len(stored(page, "waiting")) == 1
    says_not_sent(page)


def test_what_waits_is_carried_off_without_a_network_brought_in_once_and_then_known(
    page: Page, phone: BrowserContext, server: Server, browser: Any
) -> None:
    sign_in(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    page.goto(f"{server.url}/drop-off/kept/")
    page.go_back()
    phone.set_offline(True)
    record_coffee(page)
    record_coffee(page)
    page.locator("#recorded a", has_text="carry it off").tap()
    expect(page.locator("#entries > li")).to_have_count(2)
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save it as a file").tap()
    expect(page.locator("#saved")).to_contain_text("It still waits here")
    desk = browser.new_context()
    sign_in(there := desk.new_page(), server, "cleo")
    for said in ("taken in", "here already"):
        there.goto(f"{server.url}/tray/from-a-phone/")
        there.set_input_files("#files", saving.value.path())
        there.get_by_role("button", name="Bring it in").click()
        expect(there.locator(".tag", has_text=said)).to_have_count(2)
    desk.close()
    assert server.rows("select count(*), count(distinct person_id) from heaps_entry") == [(3, 1)]
    phone.set_offline(False)
    page.goto(f"{server.url}/drop-off/")
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 3
    assert {one["state"] for one in stored(page, "journal")} == {"accepted", "known"}


def test_the_text_can_be_taken_by_hand_where_nothing_else_goes(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    phone.set_offline(True)
    record_coffee(page)
    phone.set_offline(False)
    page.goto(f"{server.url}/drop-off/kept/")
    page.evaluate("() => { navigator.clipboard.writeText = () => Promise.reject(new Error('not allowed')); }")
    page.get_by_role("button", name="Copy it as text").tap()
    expect(page.locator("#text")).to_have_value(re.compile("coffee"))
    assert json.loads(page.locator("#text").input_value())["letters"][0]["seal"] is None
    expect(page.locator("#promise")).to_contain_text("promised to keep it")


def test_a_clock_that_is_wrong_is_said(page: Page, phone: BrowserContext, server: Server) -> None:
    phone.clock.install(time=datetime.now(UTC) - timedelta(days=1))
    page.goto(f"{server.url}/drop-off/kept/")
    expect(page.locator("#clock")).to_contain_text("This phone's clock is wrong.")


def test_a_shared_phone_says_that_something_waits_for_somebody_else(page: Page, server: Server) -> None:
    sign_in(page, server, "ada")
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    sign_out(page, server)
    page.unroute("**/sync/")
    sign_in(page, server, "bela")
    expect(page.locator("#state")).to_contain_text("1 for somebody else.")
    says_not_sent(page)


def test_nobody_sees_what_somebody_else_began(page: Page, server: Server) -> None:
    sign_in(page, server, "ada")
    write_words(page, "Ada's half sentence")
    page.locator("#materials label", has_text="Coffee").tap()
    ada = setting(page, "person")
    wait_until(page, lambda: (top_draft(page, f"draft {ada}") or {}).get("words") == "Ada's half sentence")
    sign_out(page, server)
    sign_in(page, server, "bela")
    expect(page.locator("[name=words]")).to_have_value("")
    sign_out(page, server)
    sign_in(page, server, "ada")
    expect(page.locator("#draft-back")).to_be_visible()
    expect(page.locator("[name=words]")).to_have_value("Ada's half sentence")


def test_an_entry_and_its_undoing_wait_as_one(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    record_coffee(page)
    page.locator("#kept").get_by_role("button", name="Undo").tap()
    expect(page.locator("#kept")).to_contain_text("Undone")
    expect(page.locator("#state")).to_contain_text("1 waiting")
    assert len(stored(page, "waiting")) == 2


def test_a_number_that_means_two_things_is_asked_about(page: Page, server: Server) -> None:
    page.locator("#materials label", has_text="Coffee").tap()
    page.fill("[name=half_containers]", "1,200")
    page.locator("#keep").tap()
    expect(page.get_by_role("alert")).to_contain_text("must be a number, like 1200 or 2.5.")
    assert stored(page, "waiting") == []
    page.fill("[name=half_containers]", "2,5")
    page.locator("#keep").tap()
    expect(page.locator("#kept")).to_contain_text("2½ ×")


def test_what_is_forgotten_meanwhile_does_not_come_back_with_an_answer(page: Page, server: Server) -> None:
    sign_in(page, server)
    held: list[Route] = []
    page.route("**/sync/", lambda route: held.append(route) if route.request.method == "POST" else route.continue_())
    record_coffee(page)
    wait_until(page, lambda: len(held) > 0)
    page.evaluate("""new Promise((done) => { indexedDB.open('heaps', 1).onsuccess = ({target}) => {
        const act = target.result.transaction(['waiting', 'journal'], 'readwrite');
        act.objectStore('waiting').clear(); act.objectStore('journal').clear();
        act.oncomplete = () => { target.result.close(); done(); }; }; })""")
    held[0].continue_()
    wait_until(page, lambda: server.entries == 1)
    page.wait_for_timeout(300)
    assert stored(page, "journal") == stored(page, "waiting") == []


def test_forgetting_while_signed_in_is_said(page: Page, server: Server) -> None:
    sign_in(page, server)
    page.goto(f"{server.url}/me/devices/")
    page.locator("#forget").tap()
    expect(page.locator("#forget-what")).to_contain_text("You are signed out here, too.")
    page.locator("#forget-yes").tap()
    page.wait_for_url("**/sign-out/")
    expect(page.locator("#forget-said")).to_contain_text("Forgotten")


def test_a_phone_that_was_emptied_tells_the_server(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    server.rows("update members_device set waiting = 3")
    page.goto(f"{server.url}/drop-off/now/")
    page.evaluate("new Promise((done) => { indexedDB.deleteDatabase('heaps').onsuccess = done; })")
    open_recording(page, server)
    wait_until(page, lambda: server.rows("select missing, waiting from members_device") == [(3, 0)])
    page.goto(f"{server.url}/me/devices/")
    expect(page.locator("main")).to_contain_text("This phone last spoke of 3 waiting")
