"""What cannot be read as an entry stands aside: shown, carried off, in nobody's way."""

import json
import random
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import (
    record_coffee,
    sign_in,
    stored,
    wait_until,
)
from tests.browser.test_seen import PUT
from tests.serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.bare]


def broken_records(sound: dict[str, Any]) -> list[dict[str, Any]]:
    """Records as a fault of the disk, or a page of tomorrow, may leave them."""
    chance = random.Random(22)
    odd: list[Any] = [None, 5, -1, "", "of tomorrow", [], {}, [[]], True, {"bay": 4}, "x" * 3000, 1e300]
    found = []
    for number in range(1000):
        one = json.loads(json.dumps(sound))
        if number % 3 == 0:
            said = {name: one["entry"][name] for name in ("kind", "bay", "details")}
            one["entry"] |= {"kind": "correction", "details": {"corrects": sound["uid"], "says": "instead", **said}}
        one["uid"] = one["entry"]["uid"] = f"{number:08}-0000-4000-8000-000000000000"
        for _ in range(chance.randint(1, 3)):
            where = chance.choice([one, one["entry"], one["entry"]]) if isinstance(one.get("entry"), dict) else one
            if isinstance(where.get("details"), dict) and chance.random() < 0.4:
                where = where["details"]
            name = chance.choice([key for key in where if where is not one or key != "uid"] or ["of tomorrow"])
            if chance.random() < 0.3:
                where.pop(name, None)
            else:
                where[name] = chance.choice(odd)
        found.append(one)
    return found


def test_a_thousand_broken_records_stand_in_nobody_s_way(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    record_coffee(page)
    (sound,) = stored(page, "waiting")
    records = broken_records(sound)
    page.evaluate(PUT, ["waiting", records])
    page.evaluate(PUT, ["journal", [one | {"sent_at": 9e12} for one in records[:100]]])
    phone.set_offline(False)
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.reload()
    page.locator("#entries > li").first.wait_for()
    expect(page.locator("#state")).to_contain_text("need you.")
    wait_until(
        page,
        lambda: server.rows("select count(*) from heaps_entry where uid = ?", sound["uid"].replace("-", ""))[0][0] == 1,
        60,
    )
    record_coffee(page)
    page.goto(f"{server.url}/drop-off/kept/")
    page.locator("#unread pre").first.wait_for()
    assert page.locator("#unread pre").count() > 100
    page.goto(f"{server.url}/guide/")
    expect(page.locator("#waits-here")).to_be_visible()
    assert faults == []


def test_a_damaged_undoing_undoes_nothing(page: Page, server: Server) -> None:
    """It does not say what it undoes: that is not everything."""
    sign_in(page, server)
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    (sound,) = stored(page, "waiting")
    uid = "00000000-0000-4000-8000-000000000002"
    damaged = {"uid": uid, "kind": "correction", "details": {"says": "withdraw"}}
    page.evaluate(PUT, ["waiting", [sound | {"uid": uid, "entry": sound["entry"] | damaged}]])
    page.reload()
    expect(page.locator("#entries > li").first.get_by_role("button", name="Undo")).to_be_visible()
    expect(page.locator("#entries")).not_to_contain_text("undone")


def test_a_record_with_another_number_inside_stands_aside(page: Page, phone: BrowserContext, server: Server) -> None:
    """No receipt would ever name it: sent, it would wait for good."""
    sign_in(page, server)
    phone.set_offline(True)
    record_coffee(page)
    (sound,) = stored(page, "waiting")
    page.evaluate(PUT, ["waiting", [sound | {"uid": "00000000-0000-4000-8000-000000000001"}]])
    phone.set_offline(False)
    page.reload()
    expect(page.locator("#state")).to_contain_text("1 needs you")
    wait_until(page, lambda: server.entries == 1 and len(stored(page, "waiting")) == 1)


def test_what_cannot_be_read_is_shown_carried_off_and_thrown_away_only_when_asked(page: Page, server: Server) -> None:
    page.evaluate(PUT, ["waiting", [{"uid": "torn", "entry": {"words": "two barrows of straw"}}]])
    page.reload()
    expect(page.locator("#state")).to_contain_text("1 needs you")
    page.locator("#entries a").tap()
    expect(page.locator("#unread")).to_contain_text("two barrows of straw")
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save it as a file").tap()
    assert "two barrows of straw" in saving.value.path().read_text()
    page.get_by_role("button", name="I do not need it").tap()
    assert stored(page, "waiting")
    page.get_by_role("button", name="Throw it away").tap()
    expect(page.locator("#set-aside")).to_be_hidden()
    assert stored(page, "waiting") == []
