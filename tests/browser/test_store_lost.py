"""The phone's store is closed, blocked or fails under the page at any moment: what it says is kept is there."""

import json
import random
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.steps import record_coffee, setting, sign_in, stored, wait_until, write_words
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


ODD: list[Any] = [None, 7, -1.5, "", "of tomorrow", [], {}, [[]], True, "\ud800", "x" * 3000, 10**15]
KEEP_ALL = """async (records) => {
    const it = await import('/static/heaps/outbox.js');
    await it.change((at) => { for (const one of records) at('waiting').put(one); });
}"""


def spoiled(number: int, person: str, chance: random.Random) -> dict[str, Any]:
    """A record as a fault of the disk, or a page of another time, may leave it."""
    uid = f"{number:08x}-0000-4000-8000-000000000000"
    record: dict[str, Any] = {
        "uid": uid, "person": person, "kept_at": 1,
        "entry": {
            "wire": 1, "uid": uid, "kind": "dropoff", "site": uid, "bay": uid, "occurred_at": "2026-05-01T10:00:00Z",
            "by_hand": False, "words": "", "donor": None,
            "details": {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000},
        },
    }  # fmt: skip
    for _ in range(chance.randint(1, 3)):
        spoil(record, chance)
    return record


def spoil(record: dict[str, Any], chance: random.Random) -> None:
    """One thing in it is gone, something else, or cut short. Its own number must be there: the store asks for it."""
    parts = [record]
    for name in ("entry", "details"):
        if isinstance(inner := parts[-1].get(name), dict) and inner:
            parts.append(inner)
    where = chance.choice(parts)
    name = chance.choice([one for one in where if where is not record or one != "uid"] or ["further"])
    how = chance.choice(["gone", "odd", "cut"])
    if how == "gone":
        where.pop(name, None)
    else:
        where[name] = chance.choice(ODD) if how == "odd" else json.dumps(where.get(name))[: chance.randint(0, 20)]


def test_a_thousand_spoiled_records_stay_on_the_phone_and_hold_up_nothing(page: Page, server: Server) -> None:
    sign_in(page, server)
    chance, person = random.Random(22), setting(page, "person")
    records = [spoiled(number, person, chance) for number in range(TIMES)]
    page.goto(f"{server.url}/drop-off/now/")
    page.evaluate(KEEP_ALL, records)
    page.goto(f"{server.url}/drop-off/")
    page.locator("#entries > li").first.wait_for()
    for count in (1, 2):
        record_coffee(page)
        wait_until(page, lambda count=count: in_bay_one(server) == count, seconds=60)
    here = {one["uid"] for store in ("waiting", "journal") for one in stored(page, store)}
    assert {one["uid"] for one in records} <= here


def in_bay_one(server: Server) -> int:
    """How many entries came in that are not spoiled: these name no bay that is there."""
    count: int = server.rows("select count(*) from heaps_entry where bay_id is not null")[0][0]
    return count
