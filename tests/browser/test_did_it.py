"""One tap at a heap: kept on the phone and sent like any other entry, with and without a network, and taken back."""

import json

import pytest
from playwright.sync_api import Page, expect

from tests.browser import measuring
from tests.browser.conftest import SwitchOn
from tests.browser.steps import sign_in, stored, wait_for_worker, wait_until
from tests.browser.test_pages import nothing_in
from tests.serving import Server

pytestmark = pytest.mark.browser


def open_signs(page: Page, server: Server) -> None:
    """The page of signs of the first bay."""
    ((uid,),) = server.rows("select uid from heaps_bay order by position limit 1")
    page.goto(f"{server.url}/heaps/{uid[:8]}-{uid[8:12]}-{uid[12:16]}-{uid[16:20]}-{uid[20:]}/signs/")


def open_sign(page: Page, title: str) -> None:
    page.locator("details.sign > summary").get_by_text(title, exact=True).tap()


def tap(page: Page, words: str) -> None:
    page.locator("[data-keep]:visible", has_text=words).tap()


def test_one_tap_keeps_the_deed_and_the_turn_it_was(page: Page, server: Server) -> None:
    sign_in(page, server)
    open_signs(page, server)
    open_sign(page, "Ants")
    nothing_in(measuring.laid_out(page) | {"axe": measuring.axe_at(page, 320)})
    tap(page, "Turned and watered")
    expect(page.locator("[role=status]:visible")).to_contain_text("✓ Kept on this phone: Turned and watered in layers.")
    wait_until(page, lambda: server.entries == 2)
    rows = server.rows("select kind, details, person_id from heaps_entry order by kind desc")
    turn, sign = [(kind, json.loads(details)) for kind, details, _person in rows]
    assert turn[0] == "turn" and [one["per_cent"] for one in turn[1]["sources"]] == [100]
    assert sign == ("sign", {"sign": "ants", "says": "done", "did": "turn and water in layers"})
    assert all(person for _kind, _details, person in rows)
    expect(page.locator("[data-keep]:visible", has_text="Turned and watered")).to_be_disabled()
    page.locator("[role=status]:visible").get_by_role("button", name="Undo").tap()
    wait_until(page, lambda: server.entries == 4)
    expect(page.locator("[role=status]:visible")).to_have_text("✕ Undone.")
    expect(page.locator("[data-keep]:visible", has_text="Turned and watered")).to_be_enabled()


def test_without_a_network_the_tap_waits_and_goes_later(switch_on: SwitchOn, server: Server) -> None:
    phone = switch_on()
    page = phone.pages[0]
    sign_in(page, server)
    wait_for_worker(page)
    open_signs(page, server)
    wait_until(page, lambda: page.evaluate("Boolean(navigator.serviceWorker.controller)"))
    page.reload()
    phone.set_offline(True)
    page.reload()
    open_sign(page, "Rats")
    tap(page, "I see it today")
    expect(page.locator("[role=status]:visible")).to_contain_text("Kept on this phone: I see it today.")
    assert [one["entry"]["details"] for one in stored(page, "waiting")] == [{"sign": "rats", "says": "seen"}]
    assert server.entries == 0
    phone.set_offline(False)
    wait_until(page, lambda: server.entries == 1)


def test_a_sign_in_a_reading_leads_to_what_to_do_about_it(page: Page, server: Server) -> None:
    sign_in(page, server)
    page.locator("#kinds button", has_text="Smell").first.tap()
    page.locator("label.pick:visible", has_text="Ants").tap()
    page.locator("#keep").tap()
    page.locator("#kept").get_by_role("link", name="What to do about it").tap()
    expect(page.locator("h1")).to_have_text("What do you see?")


def test_a_test_of_readiness_leads_to_its_panel_at_this_bay(page: Page, server: Server) -> None:
    sign_in(page, server)
    ((name, uid),) = server.rows("select name, uid from heaps_bay order by position desc limit 1")
    bay = f"{uid[:8]}-{uid[8:12]}-{uid[12:16]}-{uid[16:20]}-{uid[20:]}"
    page.goto(f"{server.url}/heaps/{bay}/ready/")
    page.get_by_role("link", name="Record: Cress or beans").tap()
    expect(page.locator("#title")).to_have_text("How many came up?")
    for field, number in {"sown": "20", "came_up": "13", "control_sown": "20", "control_up": "18"}.items():
        page.locator(f"[name={field}]:visible").fill(number)
    page.locator("label.pick:visible", has_text="Not yet").tap()
    page.locator("#keep").tap()
    expect(page.locator("#kept")).to_contain_text(f"Not ready yet, by cress, {name}")
    wait_until(page, lambda: server.entries == 1)
    ((details,),) = server.rows("select details from heaps_entry")
    assert json.loads(details) == {
        "test": "cress", "ready": "not yet", "sown": 20, "came_up": 13, "control_sown": 20, "control_up": 18,
    }  # fmt: skip
