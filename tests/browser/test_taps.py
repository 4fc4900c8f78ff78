"""A repeat entry: how many times a thumb comes down between a cold start and "kept on this phone"."""

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import SwitchOn
from tests.browser.steps import open_recording, record_coffee, sign_in, stored, wait_for_worker
from tests.serving import Server

pytestmark = pytest.mark.browser

MOST_TAPS = 4
COUNT = """globalThis.counted = { down: 0, keys: 0 };
addEventListener('pointerdown', (event) => { if (event.isTrusted) counted.down += 1; }, true);
addEventListener('keydown', () => { counted.keys += 1; }, true);"""


@pytest.fixture
def cold_page(switch_on: SwitchOn, server: Server) -> Page:
    """The recording page on a phone that recorded coffee before, freshly switched on where there is no signal."""
    phone = switch_on()
    sign_in(phone.pages[0], server)
    record_coffee(phone.pages[0])
    expect(phone.pages[0].locator("#state")).to_contain_text("All sent")
    wait_for_worker(phone.pages[0])
    phone.close()
    page = switch_on(offline=True).pages[0]
    page.add_init_script(COUNT)
    open_recording(page, server)
    return page


def test_the_same_again_is_one_tap(cold_page: Page) -> None:
    thumb(cold_page, cold_page.locator("#keep"))
    expect(cold_page.locator("#kept")).to_contain_text("Kept on this phone: 1 × Bucket of coffee grounds into Bay 1")
    assert cold_page.evaluate("counted") == {"down": 1, "keys": 0}


def test_another_material_container_and_count_is_four_taps_and_no_typing(cold_page: Page) -> None:
    thumb(cold_page, cold_page.locator("#materials label", has_text="peelings"))
    thumb(cold_page, cold_page.locator("#containers label", has_text="Barrow"))
    thumb(cold_page, cold_page.locator("[data-panel=dropoff] [data-by='1']"))
    thumb(cold_page, cold_page.locator("#keep"))
    expect(cold_page.locator("#kept")).to_contain_text("Kept on this phone: 2 × Barrow of vegetable peelings")
    assert cold_page.evaluate("counted") == {"down": MOST_TAPS, "keys": 0}
    (kept,) = stored(cold_page, "waiting")
    details = kept["entry"]["details"]
    assert (details["feedstock"], details["half_containers"], details["container_ml"]) == ("peelings", 4, 80_000)


def thumb(page: Page, target: Locator) -> None:
    """Bring a thumb down on the middle of what can be seen of a control, as a touch on the glass."""
    box = target.bounding_box()
    assert box
    seen = page.viewport_size
    assert seen
    assert box["y"] >= 0 and box["y"] + box["height"] <= seen["height"], "the thumb would have to scroll first"
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
