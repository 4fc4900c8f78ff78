"""The phone's store is closed, blocked or fails under the page at any moment: what it says is kept is there."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.steps import sign_in, stored, write_words
from tests.serving import Server

pytestmark = pytest.mark.browser

TIMES = 1000
#: Keeps entries one after the other while, as chance has it, the connection is closed before, at or after the moment.
LOSE_IT = """async ([times, seed]) => {
    const it = await import('/static/heaps/outbox.js');
    const open = new Set();
    const ask = IDBFactory.prototype.open;
    IDBFactory.prototype.open = function (...given) {
        const asked = ask.apply(this, given);
        asked.addEventListener('success', () => open.add(asked.result));
        return asked;
    };
    let state = seed;
    const chance = () => { state = (state * 48271) % 2147483647; return state / 2147483647; };
    const lose = () => { for (const one of open) { one.close(); open.delete(one); } };
    const kept = [], said = [];
    for (let number = 0; number < times; number += 1) {
        const uid = `entry ${number}`;
        const entry = { uid, kind: 'note', words: uid, details: {}, occurred_at: '2026-05-01T10:00:00Z' };
        const moment = chance();
        if (moment < 0.4) lose();
        const keeping = it.keep([{ uid, entry, person: 'ada', kept_at: 1 }]);
        if (moment >= 0.4 && moment < 0.7) lose();
        if (moment >= 0.7) Promise.resolve().then(lose);
        await keeping.then(() => kept.push(uid), (fault) => said.push(`${uid}: ${fault}`));
    }
    return { kept, said };
}"""
#: Another tab with a later page: it opens the store under a version that this page does not know, and holds it.
LATER_VERSION = """() => new Promise((done) => {
    const asked = indexedDB.open('heaps', 2);
    asked.onsuccess = () => { globalThis.held = asked.result; done(true); };
    asked.onblocked = () => done(false);
})"""


def test_a_thousand_times_the_connection_is_lost_and_nothing_is_dropped_in_silence(page: Page, server: Server) -> None:
    page.goto(f"{server.url}/drop-off/now/")
    found: dict[str, Any] = page.evaluate(LOSE_IT, [TIMES, 7])
    assert len(found["kept"]) + len(found["said"]) == TIMES
    assert {one["uid"] for one in stored(page, "waiting")} == set(found["kept"])
    assert len(found["said"]) < TIMES / 100, found["said"][:3]


def test_a_store_that_a_later_page_took_over_keeps_nothing_and_says_so(page: Page, server: Server) -> None:
    sign_in(page, server)
    write_words(page, "From the market")
    other = page.context.new_page()
    other.goto(f"{server.url}/drop-off/now/")
    assert other.evaluate(LATER_VERSION) is True  # the page lets go of the store when it is asked to
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#keep").tap()
    expect(page.locator("#not-kept")).to_be_visible()
    expect(page.locator("#kept")).to_be_hidden()
    expect(page.locator("[name=words]")).to_have_value("From the market")
    assert server.entries == 0
