"""Saying on a phone who gave a load: kept with the draft and the entry, never in the journal of what was sent."""

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import draft, record_coffee, sign_in, stored, wait_until
from tests.serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.bare]


def choose_giver(page: Page, name: str) -> None:
    """Say who gave it."""
    page.locator("summary", has_text="Given by others?").tap()
    page.locator("#donor").select_option(label=name)


def givers(server: Server) -> list[str | None]:
    """Who gave each load, as the server has it."""
    beside = "left join heaps_donor on heaps_donor.id = donor_id"
    return [name for (name,) in server.rows(f"select organisation from heaps_entry {beside} order by heaps_entry.id")]


def test_who_gave_it_waits_with_the_entry_and_leaves_no_trace_on_the_phone(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    choose_giver(page, "Hobb Stables")
    record_coffee(page)
    (one,) = stored(page, "waiting")
    assert one["entry"]["donor"] and "donor" not in one["entry"]["details"]
    assert page.locator("#donor").input_value() == "", "the next load is not theirs unless somebody says so"
    phone.set_offline(False)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert givers(server) == ["Hobb Stables"]
    (sent,) = stored(page, "journal")
    assert sent["entry"]["donor"] is None


def test_a_draft_keeps_who_gave_it(page: Page) -> None:
    page.locator("#materials label", has_text="Coffee").tap()
    choose_giver(page, "households")
    chosen = page.locator("#donor").input_value()
    wait_until(page, lambda: chosen in str(draft(page)))
    page.reload()
    expect(page.locator("#draft-back")).to_contain_text("Your unfinished entry is back.")
    expect(page.locator("#donor")).to_have_value(chosen)


def test_a_correction_leaves_the_giver_as_it_was(page: Page, server: Server) -> None:
    sign_in(page, server)
    choose_giver(page, "Hobb Stables")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    page.locator("#entries li").first.get_by_role("button", name="Correct").tap()
    page.locator("[data-panel=dropoff] [data-by='1']").tap()
    page.locator("#keep").tap()
    wait_until(page, lambda: server.entries == 2)
    assert givers(server) == ["Hobb Stables", None]


def test_where_nobody_gives_nothing_is_asked(page: Page, server: Server) -> None:
    server.rows("update heaps_donor set gives = 0")
    page.reload()
    page.locator("summary", has_text="Given by others?").tap()
    expect(page.locator("[name=weighed_g]")).to_be_visible()
    expect(page.locator("#donor")).to_be_hidden()


def test_a_list_of_the_ground_from_before_this_version_still_works(page: Page) -> None:
    page.evaluate(
        """() => { const now = JSON.parse(document.getElementById('now').textContent);
            for (const site of now.sites) delete site.donors;
            now.as_of = '2999-01-01T00:00:00+00:00';
            return new Promise((done) => { indexedDB.open('heaps', 1).onsuccess = ({target}) => {
                const act = target.result.transaction('settings', 'readwrite');
                act.objectStore('settings').put(now, 'now'); act.oncomplete = () => { target.result.close(); done(); };
            }; }); }"""
    )
    page.reload()
    page.locator("#entries > li").first.wait_for()
    record_coffee(page)
    assert stored(page, "waiting")[0]["entry"]["donor"] is None
