"""What a server refused, or a coordinator left out: what a phone says of it, and every way on from there."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.steps import FULL_DISK, record_coffee, sign_in, stored, wait_until
from tests.serving import Server

pytestmark = pytest.mark.browser
REASON = "This was written by a newer page. Try again in a few days."
LEFT_OUT = "A coordinator has left it out."


def answering(state: str, reason: str) -> Callable[[Route], None]:
    """A server that gives every drop-off this receipt, and takes the rest."""

    def answer(route: Route) -> None:
        said: Any = json.loads(route.request.post_data or "{}")
        loads = [one["uid"] for one in said.get("entries", []) if one["kind"] == "dropoff"]
        if not loads:
            route.continue_()
            return
        receipts = [{"uid": uid, "state": state, "reason": reason} for uid in loads]
        route.fulfill(json={"wire": 1, "epoch": "x", "receipts": receipts})

    return answer


def record_refused(page: Page) -> None:
    """One load that is refused; whatever comes after it is not."""
    page.route("**/sync/", answering("refused", REASON))
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 needs you")
    expect(page.locator("#entries > li").first).to_contain_text(REASON)
    page.unroute("**/sync/")


def press(page: Page, name: str) -> None:
    page.locator("#entries").get_by_role("button", name=name).first.tap()


def test_what_is_brought_back_stays(page: Page, server: Server) -> None:
    sign_in(page, server)
    record_refused(page)
    (refused,) = stored(page, "waiting")
    press(page, "Take it back")
    expect(page.locator("#entries")).to_contain_text("taken back")
    press(page, "Bring it back")
    expect(page.locator("#state")).to_contain_text("1 needs you")
    record_coffee(page)
    wait_until(page, lambda: server.entries == 1)
    page.reload()
    page.locator("#entries > li").first.wait_for()
    assert [one["uid"] for one in stored(page, "waiting")] == [refused["uid"]]
    press(page, "Try again")
    wait_until(page, lambda: server.entries == 2)


def test_corrected_and_meanwhile_taken_it_is_one_load_and_its_correction(page: Page, server: Server) -> None:
    sign_in(page, server)
    record_refused(page)
    press(page, "Correct")
    press(page, "Try again")
    expect(page.locator("#state")).to_contain_text("All sent")
    page.locator("[data-panel=dropoff] [data-by='1']").tap()
    page.locator("#keep").tap()
    wait_until(page, lambda: server.entries == 2)
    assert server.rows("select kind from heaps_entry order by id") == [("dropoff",), ("correction",)]
    assert server.rows("select sum(volume_ml) from heaps_daytotal") == [(20_000,)]


def test_corrected_in_place_a_refused_one_is_sent_once(page: Page, server: Server) -> None:
    sign_in(page, server)
    record_refused(page)
    press(page, "Correct")
    page.locator("[data-panel=dropoff] [data-by='1']").tap()
    page.locator("#keep").tap()
    wait_until(page, lambda: server.entries == 1)
    expect(page.locator("#entries")).to_contain_text("✕ taken back")
    assert server.rows("select sum(volume_ml) from heaps_daytotal") == [(20_000,)]


def test_a_refused_one_needs_its_person_whatever_was_said_of_it(page: Page, server: Server) -> None:
    """Corrected while it waited, it is refused; that its correction is in does not put it into a heap."""
    sign_in(page, server)
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    press(page, "Correct")
    page.locator("[data-panel=dropoff] [data-by='1']").tap()
    page.locator("#keep").tap()
    expect(page.locator("#state")).to_contain_text("2 waiting")
    page.unroute("**/sync/")
    page.route("**/sync/", refuse_the_load)
    page.locator("#send-now").tap()
    expect(page.locator("#state")).to_contain_text("1 needs you")
    expect(page.locator("#entries > li").first).to_contain_text(REASON)
    expect(page.locator("#entries > li").first).to_contain_text("! needs you")


def refuse_the_load(route: Route) -> None:
    said: Any = json.loads(route.request.post_data or "{}")
    receipts = [
        {"uid": one["uid"], "state": "refused" if one["kind"] == "dropoff" else "parked", "reason": REASON}
        for one in said.get("entries", [])
    ]
    if receipts:
        route.fulfill(json={"wire": 1, "epoch": "x", "receipts": receipts})
    else:
        route.continue_()


def test_what_a_coordinator_left_out_is_said_to_be(page: Page, server: Server) -> None:
    sign_in(page, server)
    page.route("**/sync/", answering("known", LEFT_OUT))
    record_coffee(page)
    expect(page.locator("#entries > li").first).to_contain_text(LEFT_OUT)


def test_a_phone_that_can_write_nothing_more_still_sends(page: Page, server: Server) -> None:
    """Sending is what makes room."""
    sign_in(page, server)
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    page.evaluate(FULL_DISK)
    page.unroute("**/sync/")
    page.locator("#send-now").tap()
    wait_until(page, lambda: server.entries == 1)
