"""The phone's store is closed, blocked or fails under the page at any moment: what it says is kept is there."""

import json
import random
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.steps import record_coffee, sign_in, stored, write_words
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


SPOILED = random.Random(22)


def spoiled(number: int) -> dict[str, Any]:
    """A record as a fault of the disk, or a page of another time, may leave it."""
    uid = f"{number:08x}-0000-4000-8000-000000000000"
    entry: dict[str, Any] = {
        "wire": 1, "uid": uid, "kind": "dropoff", "site": "5e000000-0000-4000-8000-000000000001", "bay": uid,
        "occurred_at": "2026-05-01T10:00:00Z", "by_hand": False, "words": "", "donor": None,
        "details": {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000},
    }  # fmt: skip
    record: dict[str, Any] = {"uid": uid, "entry": entry, "person": None, "kept_at": 1}
    odd = [None, 7, -1.5, "", "of tomorrow", [], {}, [[]], True, "\\ud800", "x" * 3000, 10**15]
    for _ in range(SPOILED.randint(1, 3)):
        where = SPOILED.choice([record, entry, entry, entry["details"]])
        name = SPOILED.choice([one for one in where if one != "uid" or where is not record])
        how = SPOILED.choice(["gone", "odd", "cut"])
        if how == "gone" and not (where is record and name == "person"):
            where.pop(name)
        elif how == "cut":
            where[name] = json.dumps(where[name])[: SPOILED.randint(0, 20)]
        else:
            where[name] = SPOILED.choice(odd)
        if (
            "details" not in entry
            or not isinstance(entry["details"], dict)
            or not isinstance(record.get("entry"), dict)
        ):
            break
    return record


KEEP_ALL = """async (records) => {
    const it = await import('/static/heaps/outbox.js');
    await it.change((at) => { for (const one of records) at('waiting').put(one); });
}"""
DRAIN = """async () => {
    const { send } = await import('/static/heaps/sync.js');
    await send(true);
}"""


def test_a_thousand_spoiled_records_stay_on_the_phone_and_hold_up_nothing(page: Page, server: Server) -> None:
    sign_in(page, server)
    (person,) = page.evaluate("fetch('/sync/').then((one) => one.json()).then((said) => [said.person])")
    page.goto(f"{server.url}/drop-off/now/")
    records = [spoiled(number) for number in range(TIMES)]
    for one in records:
        if one.get("person", "") is None:
            one["person"] = person
    sound = len(records)
    for first in range(0, sound, 250):
        page.evaluate(KEEP_ALL, records[first : first + 250])
    page.goto(f"{server.url}/drop-off/")
    page.locator("#entries > li").first.wait_for()
    for count in (1, 2):
        record_coffee(page)
        expect(page.locator("#entries")).to_contain_text("✓ sent")
        good = server.rows("select count(*) from heaps_entry where kind = 'dropoff' and words = ''")[0][0]
        assert good >= count
    here = {one["uid"] for one in stored(page, "waiting")} | {one["uid"] for one in stored(page, "journal")}
    assert {one["uid"] for one in records} <= here
