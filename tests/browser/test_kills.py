"""Nothing is lost and nothing doubled, whatever is killed, and at whatever moment."""

import random
import uuid
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests import chromium
from tests.browser.conftest import SwitchOn
from tests.browser.steps import (
    open_recording,
    record_coffee,
    sign_in,
    stored,
    wait_for_worker,
    wait_until,
    write_words,
)
from tests.serving import DIE_AFTER_COMMIT, SLOW_ANSWER, Server

pytestmark = pytest.mark.browser

PUT_WAITING = """(records) => new Promise((done, fail) => {
    indexedDB.open('heaps', 1).onsuccess = ({target}) => {
        const act = target.result.transaction('waiting', 'readwrite', { durability: 'strict' });
        act.oncomplete = () => { target.result.close(); done(); };
        act.onabort = () => fail(act.error);
        for (const one of records) act.objectStore('waiting').put(one);
    };
})"""
TELL_WHEN_KEPT = """new MutationObserver(() => {
    const kept = document.getElementById('kept');
    if (kept && !kept.hidden && kept.textContent.includes('Kept on this phone')) console.log('it says kept');
}).observe(document, { subtree: true, childList: true, attributes: true });"""


@pytest.fixture
def kept_page(switch_on: SwitchOn, server: Server) -> None:
    """A phone that has the recording page, and has been switched off."""
    phone = switch_on()
    sign_in(phone.pages[0], server)
    wait_for_worker(phone.pages[0])
    phone.close()


@pytest.mark.usefixtures("kept_page")
def test_the_page_opens_from_cold_with_the_server_gone_and_what_it_keeps_goes_once(
    switch_on: SwitchOn, server: Server
) -> None:
    server.kill()
    phone = switch_on()
    page = phone.pages[0]
    open_recording(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting, kept on this phone")
    server.start()
    page.locator("#send-now").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 1


@pytest.mark.usefixtures("kept_page")
def test_kept_is_kept_though_the_browser_is_killed_at_that_moment(
    switch_on: SwitchOn, server: Server, memory: Path
) -> None:
    phone = switch_on(offline=True)
    open_recording(phone.pages[0], server)
    record_coffee(phone.pages[0])
    chromium.kill(memory)

    phone = switch_on(offline=True)
    page = phone.pages[0]
    open_recording(page, server)
    expect(page.locator("#state")).to_contain_text("1 waiting, kept on this phone")
    expect(page.locator("#entries")).to_contain_text("coffee grounds")
    phone.set_offline(False)
    sign_in(page, server)  # a killed browser loses a young cookie; nothing else is typed again
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 1


@pytest.mark.usefixtures("kept_page")
def test_killed_while_it_saves_an_entry_is_there_or_still_in_the_form(
    switch_on: SwitchOn, server: Server, memory: Path
) -> None:
    chance = random.Random(5)
    for number, moment_ms in enumerate([0, chance.uniform(1, 20), chance.uniform(20, 120)], 1):
        words = f"written before kill {number}"
        says_kept = fill_keep_and_kill(switch_on(offline=True), server, memory, words, moment_ms)
        phone = switch_on(offline=True)
        open_recording(phone.pages[0], server)
        kept = [one for one in stored(phone.pages[0], "waiting") if one["entry"]["words"] == words]
        in_form = phone.pages[0].locator("[name=words]").input_value() == words
        assert (len(kept), in_form) in [(1, False), (0, True)]
        assert kept or not says_kept
        if in_form:
            phone.pages[0].locator("#keep").tap()
            phone.pages[0].locator("#kept", has_text="Kept on this phone").wait_for()
        phone.close()


def fill_keep_and_kill(phone: BrowserContext, server: Server, memory: Path, words: str, moment_ms: float) -> bool:
    """Fill the form, press the button, and kill the browser so many milliseconds later. Whether it had said "kept"."""
    page = phone.pages[0]
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.add_init_script(TELL_WHEN_KEPT)
    open_recording(page, server)
    write_words(page, words)
    page.locator("#materials label", has_text="Coffee").tap()
    page.wait_for_timeout(800)  # the draft is kept half a second after the last key
    page.evaluate("setTimeout(() => document.getElementById('keep').click(), 0)")
    if moment_ms:
        page.wait_for_timeout(moment_ms)
    chromium.kill(memory)
    return "it says kept" in said


def test_a_server_killed_between_commit_and_answer_leaves_it_waiting_and_once_in_the_ledger(
    page: Page, server: Server
) -> None:
    sign_in(page, server)
    (server.odd / DIE_AFTER_COMMIT).touch()
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting, kept on this phone.  No connection.")
    server.await_death()
    expect(page.locator("#entries")).to_contain_text("kept on this phone, waiting")
    expect(page.locator("#entries")).not_to_contain_text("sent")
    assert server.entries == 1
    server.start()
    page.locator("#send-now").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    expect(page.locator("#entries")).to_contain_text("✓ sent")
    assert server.entries == 1


@pytest.mark.usefixtures("kept_page")
def test_a_browser_killed_while_it_sends_fifty_leaves_exactly_fifty(
    switch_on: SwitchOn, server: Server, memory: Path
) -> None:
    (server.odd / SLOW_ANSWER).touch()
    page = switch_on().pages[0]
    open_recording(page, server)
    page.evaluate(PUT_WAITING, fifty_waiting(server))
    page.reload()
    wait_until(page, lambda: server.entries == 50)
    chromium.kill(memory)

    (server.odd / SLOW_ANSWER).unlink()
    phone = switch_on()
    phone.clear_cookies()  # a killed browser loses a cookie that is younger than half a minute
    page = phone.pages[0]
    open_recording(page, server)
    assert len(stored(page, "waiting")) == 50
    sign_in(page, server)  # nothing else is typed again
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 50
    assert len(stored(page, "journal")) == 50


def fifty_waiting(server: Server) -> list[dict[str, object]]:
    """Fifty buckets of coffee grounds of Ada's, as her phone keeps them."""
    ((person,),) = server.rows("select uid from members_member where username = 'ada'")
    ((site, bay),) = server.rows(
        "select s.uid, b.uid from heaps_bay b join heaps_site s on s.id = b.site_id where b.name = 'Bay 1'"
    )
    person, site, bay = (str(uuid.UUID(one)) for one in (person, site, bay))
    records = []
    for number in range(50):
        uid = str(uuid.UUID(int=random.Random(number).getrandbits(128), version=4))
        details = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
        at = f"2026-05-01T10:{number:02}:00.000Z"
        entry = {"wire": 1, "uid": uid, "kind": "dropoff", "site": site, "bay": bay, "occurred_at": at}
        entry |= {"by_hand": False, "details": details, "words": ""}
        records.append({"uid": uid, "entry": entry, "person": person, "kept_at": 1_777_000_000_000})
    return records
