"""What was begun: it outlives a reload, a quick thumb, another tab and a store that opens late."""

from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import draft, open_recording, record_coffee, stored, wait_until, write_words
from tests.serving import Server

pytestmark = pytest.mark.browser

#: Whoever looks for an unfinished entry waits until the page remembers.
SLOW_TO_REMEMBER = """
const get = IDBObjectStore.prototype.get;
IDBObjectStore.prototype.get = function (key) {
    const again = () => { if (!globalThis.remembers) get.call(this, "nothing").onsuccess = again; };
    if (String(key).startsWith("draft")) again();
    return get.call(this, key);
};"""
#: The phone's store does not answer until it is let open.
OPENS_LATE = """
const open = IDBFactory.prototype.open;
IDBFactory.prototype.open = function (...given) { return globalThis.opens ? open.apply(this, given) : {}; };"""
#: Never half a second without a key.
TYPES_ON_AND_ON = """async () => {
    const field = document.querySelector('[name=words]');
    for (let key = 0; key < 9; key += 1) {
        field.value += 'on and ';
        field.dispatchEvent(new Event('input', { bubbles: true }));
        await new Promise((done) => setTimeout(done, 100));
    }
}"""
#: Who is here is asked for the entry first, and told when it is asked for the draft, too, which is told later still.
DRAFT_AND_ENTRY_AT_ONCE = """() => {
    const get = IDBObjectStore.prototype.get;
    let over = false;
    globalThis.asked = 0;
    IDBObjectStore.prototype.get = function (key) {
        const mine = key === "person" ? ++asked : 3;
        if (mine === 2) setTimeout(() => { over = true; }, 200);
        const again = () => {
            if (mine === 1 && asked < 2 || mine === 2 && !over) get.call(this, "nothing").onsuccess = again;
        };
        again();
        return get.call(this, key);
    };
}"""


def test_what_is_typed_outlives_a_reload(page: Page) -> None:
    page.locator("#materials label", has_text="Coffee").tap()
    write_words(page, "From the market")
    wait_until(page, lambda: (draft(page) or {}).get("words") == "From the market")
    page.reload()
    expect(page.locator("#draft-back")).to_contain_text("Your unfinished entry is back.")
    expect(page.locator("[name=words]")).to_have_value("From the market")
    expect(page.locator("#keep")).to_contain_text("coffee grounds")


def test_a_thumb_quicker_than_the_phone_s_memory_loses_nothing(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    """What was typed while the phone still looked for an unfinished entry stays, also when newer bays arrive then."""
    phone.add_init_script(SLOW_TO_REMEMBER)
    page.clock.set_system_time(datetime.now(UTC) + timedelta(hours=2))  # so that it asks for newer bays
    page.goto(f"{server.url}/drop-off/")
    write_words(page, "From the market")
    page.locator("#more summary").tap()  # what stands open would keep the form as it is by itself
    with page.expect_response("**/drop-off/now/"):
        page.evaluate("() => { globalThis.remembers = true; }")
    page.wait_for_timeout(500)
    expect(page.locator("[name=words]")).to_have_value("From the market")
    expect(page.locator("#draft-back")).to_be_hidden()


def test_what_a_thumb_opened_does_not_close_when_the_phone_remembers(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    phone.add_init_script(SLOW_TO_REMEMBER.replace("draft", "now"))
    page.goto(f"{server.url}/drop-off/")
    page.locator("#more summary").tap()
    before = page.locator("#as-of").inner_text()
    page.evaluate("() => { globalThis.remembers = true; }")
    wait_until(page, lambda: page.locator("#as-of").inner_text() != before)
    page.wait_for_timeout(300)
    expect(page.locator("[name=words]")).to_be_visible()


def test_what_is_kept_while_its_draft_is_written_is_no_unfinished_entry(page: Page) -> None:
    write_words(page, "From the market")
    page.locator("#materials label", has_text="Coffee").tap()
    page.evaluate(DRAFT_AND_ENTRY_AT_ONCE)
    page.evaluate("document.getElementById('keep').click()")
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    assert page.evaluate("asked") >= 2
    page.wait_for_timeout(500)
    assert draft(page) is None


def test_what_is_typed_in_one_tab_outlives_an_entry_kept_in_another(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    """What each began lies in the same pile, and whoever keeps an entry takes only their own out of it."""
    other = phone.new_page()
    open_recording(other, server)
    write_words(page, "From the market")
    wait_until(page, lambda: (draft(page) or {}).get("words") == "From the market")
    record_coffee(other)
    wait_until(other, lambda: len(stored(other, "waiting")) == 1)
    assert draft(other)["words"] == "From the market"
    expect(page.locator("[name=words]")).to_have_value("From the market")


def test_what_was_begun_before_a_store_that_opens_late_comes_back_after_what_was_typed_meanwhile(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    write_words(page, "From the market")
    wait_until(page, lambda: (draft(page) or {}).get("words") == "From the market")
    phone.add_init_script(OPENS_LATE)
    page.clock.install()
    page.goto(f"{server.url}/drop-off/")
    page.clock.fast_forward(4000)  # the page has given the store up
    write_words(page, "Two crates")
    page.clock.fast_forward(4000)  # and could keep nothing of it
    page.evaluate("() => { globalThis.opens = true; }")
    page.clock.fast_forward(4000)
    wait_until(page, lambda: (draft(page) or {}).get("words") == "Two crates")
    expect(page.locator("[name=words]")).to_have_value("Two crates")
    record_coffee(page)
    expect(page.locator("#draft-back")).to_contain_text("Your unfinished entry is back.")
    expect(page.locator("[name=words]")).to_have_value("From the market")
    page.locator("[data-fresh]:visible").tap()
    wait_until(page, lambda: draft(page) is None)
    expect(page.locator("#draft-back")).to_be_hidden()


def test_whoever_types_on_and_on_has_it_kept_meanwhile(page: Page) -> None:
    page.evaluate(TYPES_ON_AND_ON)
    assert draft(page)["words"].startswith("on and on")


def test_what_was_half_typed_comes_back_after_another_entry_was_corrected(page: Page) -> None:
    record_coffee(page)
    write_words(page, "From the market")
    page.locator("#entries button", has_text="Correct").tap()
    expect(page.locator("#correcting")).to_be_visible()
    page.locator("[data-fresh]:visible").tap()
    expect(page.locator("[name=words]")).to_have_value("From the market")
    expect(page.locator("#draft-back")).to_be_visible()
