"""What people type and tap that nobody planned for."""

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import open_recording, record_coffee, write_words
from tests.serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.bare]


def test_a_very_long_word_does_not_widen_the_page(page: Page, server: Server) -> None:
    open_recording(page, server)
    write_words(page, "Donaudampfschifffahrt" * 40)
    record_coffee(page)
    expect(page.locator("#entries")).to_contain_text("Donaudampfschifffahrt" * 40)
    assert page.evaluate("document.documentElement.scrollWidth") == 360


def test_an_unfinished_date_is_not_taken_for_now(page: Page, server: Server) -> None:
    open_recording(page, server)
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#more summary").tap()
    page.locator("[name=when]").press_sequentially("31")
    page.locator("#keep").tap()
    expect(page.locator("#not-kept")).to_contain_text("The date is not finished")


def test_a_date_long_past_is_asked_about_and_told_with_its_year(page: Page, server: Server) -> None:
    open_recording(page, server)
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#more summary").tap()
    page.fill("[name=when]", "1996-05-01T10:00")
    page.locator("#keep").tap()
    expect(page.locator("#ask")).to_contain_text("more than a year back")
    page.locator("#ask").get_by_role("button", name="Keep it so").tap()
    expect(page.locator("#entries li").first).to_contain_text("1996")


def test_a_weight_nobody_carries_is_not_kept(page: Page, server: Server) -> None:
    open_recording(page, server)
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("summary", has_text="Weighed?").tap()
    page.fill("[name=weighed_g]", "1e9")
    page.locator("#keep").tap()
    expect(page.locator("#not-kept")).to_contain_text("from 0.001 to 20000")


def test_a_bay_closed_by_mistake_is_offered_again(page: Page, phone: BrowserContext, server: Server) -> None:
    open_recording(page, server)
    fed = page.locator("#where-bay").inner_text()
    phone.set_offline(True)
    page.locator("#kinds").get_by_role("button", name="Close", exact=True).tap()
    page.locator("#keep").tap()
    expect(page.locator("#kept")).to_contain_text("Closed")
    expect(page.locator("#where-bay")).not_to_have_text(fed)
    page.locator("#kept").get_by_role("button", name="Undo").tap()
    expect(page.locator("#where-bay")).to_have_text(fed)
    phone.set_offline(False)
    open_recording(page, server)  # still waiting, for nobody has signed in
    expect(page.locator("#where-bay")).to_have_text(fed)
