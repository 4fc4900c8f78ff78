"""A site's own rules, and what it does not want just now, stand on the phone before a load is kept."""

from datetime import date, timedelta
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import open_recording, sign_in
from tests.browser.test_before_keeping import choose, keep, leaves, page, waits
from tests.serving import Server

__all__ = ["leaves", "page"]  # fixtures, taken over as they are
pytestmark = [pytest.mark.browser, pytest.mark.bare]
UNTIL = (date.today() + timedelta(days=300)).isoformat()  # noqa: DTZ011 - far enough in any time zone


def rule(server: Server, feedstock: str, word: str, reason: str) -> None:
    """The site takes a material more strictly than the list."""
    server.rows(
        "insert into heaps_gaterule (site_id, feedstock, acceptance, reason, since) "
        "select id, ?, ?, ?, '2026-01-01' from heaps_site",
        *(feedstock, word, reason),
    )


def pause(server: Server, what: str, reason: str) -> None:
    """The site does not want something for long."""
    values = (what, UNTIL, reason)
    server.rows("insert into heaps_pause (site_id, what, until, reason) select id, ?, ?, ? from heaps_site", *values)


@pytest.mark.parametrize("why", ["paused", "never"])
def test_browns_that_the_site_does_not_want_are_not_offered(
    leaves: None, phone: BrowserContext, server: Server, why: str
) -> None:
    if why == "paused":
        pause(server, "brown", "No room")
    else:
        rule(server, "leaves-mixed", "never", "Full of litter")
    page = phone.new_page()
    open_recording(page, server)
    choose(page, "peelings")
    expect(page.locator("#effect")).to_have_text("Too green with this: add dry browns.")
    expect(page.locator("#top")).to_be_hidden()


def test_a_full_bay_and_a_site_s_own_rules_stand_on_the_phone_without_a_network(
    leaves: None, phone: BrowserContext, server: Server
) -> None:
    server.rows("update heaps_bay set is_full = 1 where name = 'Bay 1'")
    rule(server, "coffee", "treat first", "Slugs came with it")
    rule(server, "grass-fresh", "never", "Our lawns are sprayed")
    pause(server, "green", "It smells")
    page = phone.new_page()
    open_recording(page, server)
    phone.set_offline(True)
    expect(page.locator("#says")).to_contain_text("No more greens until")
    expect(page.locator("#says")).to_contain_text("It smells")
    expect(page.locator("#where-bay")).to_have_text("Bay 2")
    choose(page, "Grass")
    expect(page.locator("#keep")).to_have_text("This does not go in")
    expect(page.locator("#verdict")).to_contain_text("Our lawns are sprayed")
    page.locator("#keep").tap()
    assert waits(page) == []
    choose(page, "Coffee")
    expect(page.locator("#verdict")).to_contain_text("Slugs came with it")
    page.locator("#keep").tap()
    expect(page.locator("#ask")).to_contain_text("Was it treated?")
    page.locator("#ask").get_by_role("button", name="Yes, it was").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    page.locator("#where summary").tap()
    page.locator("#bays label", has_text="Bay 1").tap()
    choose(page, "peelings")
    expect(page.locator("#effect")).to_have_text("With this, Bay 1 is about full.")
    keep(page)
    assert waits(page) == [("dropoff", "coffee"), ("dropoff", "peelings")], "a full bay is no reason to lose an entry"


def test_what_is_usual_and_not_on_the_phone_s_own_list_is_neither_offered_nor_named(page: Page, server: Server) -> None:
    """The page may be older than a material of the cooperative's own that the server says is usual."""
    sign_in(page, server)

    def with_a_newer_brown(route: Any) -> None:
        ground = route.fetch().json()
        ground["as_of"] = "2099-01-01T00:00:00+00:00"
        ground["sites"][0]["brown"]["feedstock"] = "own-0123456789ab"
        route.fulfill(json=ground)

    page.route("**/drop-off/now/", with_a_newer_brown)
    page.evaluate(
        "async () => (await import('/static/heaps/outbox.js'))"
        ".putSetting('now', await (await fetch('/drop-off/now/')).json())"
    )
    page.reload()
    choose(page, "peelings")
    expect(page.locator("#effect")).to_have_text("Too green with this: add dry browns.")
    expect(page.locator("#top")).to_be_hidden()
    keep(page)
