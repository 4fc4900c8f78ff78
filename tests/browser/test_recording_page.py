"""The recording page under a thumb: whichever panel shows, large, dark on light, in one screen, upright or lying."""

import pytest
from playwright.sync_api import Page

from tests.browser import measuring
from tests.browser.measuring import LEAST_MAIN_PX
from tests.browser.test_pages import nothing_in
from tests.browser.test_recording import find
from tests.browser.test_seen import PUT
from tests.serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.bare]

LYING = {"width": 640, "height": 320}
OPEN_ALL = "(all) => all.forEach((one) => { one.open = true; })"


def choose_peelings(page: Page) -> None:
    """As in the middle of recording a load."""
    page.locator("#materials label", has_text="peelings").tap()


def test_every_panel_is_large_and_dark_on_light(page: Page, server: Server) -> None:
    choose_peelings(page)
    found: measuring.Found = {}
    for form in [None, *page.locator("#kinds button").all()]:
        if form:
            form.tap()
        page.locator("form#entry details").evaluate_all(OPEN_ALL)
        name = page.locator("#title").inner_text()
        found |= {f"{name}, {what}": said for what, said in measuring.laid_out(page).items()}
        found[f"{name}, axe"] = measuring.axe_at(page, 320)
        measuring.at_phone(page)
        main = page.locator("#keep").bounding_box()
        assert main and main["height"] >= LEAST_MAIN_PX
    nothing_in(found)


def test_what_is_said_after_keeping_is_large_and_dark_on_light(page: Page, server: Server) -> None:
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    nothing_in(measuring.laid_out(page) | {"keyboard": measuring.keyboard(page)})


@pytest.mark.parametrize(("typed", "material"), [("bones", "Meat, fish, bones"), ("seed", "Weeds with seed")])
def test_what_is_refused_or_asked_is_large_and_dark_on_light(
    page: Page, server: Server, typed: str, material: str
) -> None:
    find(page, typed)
    page.locator("#found button", has_text=material).tap()
    page.locator("#keep").tap()
    nothing_in(measuring.laid_out(page) | {"keyboard": measuring.keyboard(page)})


def test_it_is_one_screen_for_a_usual_load(page: Page, server: Server) -> None:
    choose_peelings(page)
    bottom = page.locator(".bottom").bounding_box()
    count = page.locator("[data-panel=dropoff] .stepper").bounding_box()
    assert bottom and count
    assert count["y"] + count["height"] <= bottom["y"]


def test_a_phone_that_lies_on_its_side_can_record_too(page: Page, server: Server) -> None:
    page.set_viewport_size(LYING)
    choose_peelings(page)
    bars = measuring.Bars.of(page)
    nothing_in({"lying": measuring.as_laid_out(page, bars)})
    covered = page.locator(".bottom, .state").evaluate_all(
        "(all) => all.filter((one) => /sticky|fixed/.test(getComputedStyle(one).position))"
        ".reduce((sum, one) => sum + one.offsetHeight, 0)"
    )
    assert covered <= LYING["height"] / 2, "bars that stay put leave no room for what is chosen"
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()


def test_what_a_phone_keeps_is_large_and_dark_on_light(page: Page, server: Server) -> None:
    choose_peelings(page)
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    torn = {"uid": "torn", "entry": {"words": "two barrows of straw" * 20}}
    page.evaluate(PUT, ["waiting", [torn]])
    page.goto(f"{server.url}/drop-off/kept/")
    page.locator("#unread pre").wait_for()
    page.locator("#as-text summary").tap()
    page.get_by_role("button", name="I do not need it").tap()
    nothing_in(measuring.laid_out(page) | {"keyboard": measuring.keyboard(page), "axe": measuring.axe_at(page, 320)})
