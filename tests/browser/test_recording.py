"""The form: what it asks, what it will not keep, and how a mistake is mended."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import (
    FULL_DISK,
    record_coffee,
    sign_in,
    stored,
    wait_for_worker,
    wait_until,
    write_words,
)
from tests.serving import Server

pytestmark = pytest.mark.browser

#: What browsers have since 2021 and 2022, and the page can do without.
AN_OLDER_PHONE = """
delete globalThis.structuredClone;
delete globalThis.BroadcastChannel;
delete Navigator.prototype.locks;
delete AbortSignal.timeout;
delete Crypto.prototype.randomUUID;
delete StorageManager.prototype.persist;
delete Array.prototype.at;
"""


def test_an_entry_can_be_undone_for_a_day(page: Page, server: Server) -> None:
    sign_in(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert tipped_ml(server) == 10_000
    page.locator("#entries li").first.get_by_role("button", name="Undo").tap()
    expect(page.locator("#entries li").first).to_contain_text("undone")
    wait_until(page, lambda: server.entries == 2)
    assert tipped_ml(server) == 0


def test_after_a_day_the_phone_undoes_nothing(page: Page, phone: BrowserContext, server: Server) -> None:
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    expect(page.locator("#entries li").first.get_by_role("button", name="Undo")).to_be_visible()
    phone.clock.set_fixed_time(datetime.now(UTC) + timedelta(hours=24, minutes=1))
    page.reload()
    expect(page.locator("#entries li").first).to_contain_text("kept on this phone, waiting")
    expect(page.locator("#entries li").first.get_by_role("button", name="Undo")).to_have_count(0)


def test_undone_before_it_was_sent_it_counts_nothing(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    record_coffee(page)
    page.locator("#kept").get_by_role("button", name="Undo").tap()
    expect(page.locator("#kept")).to_contain_text("Undone")
    phone.set_offline(False)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 2
    assert tipped_ml(server) == 0


def test_a_correction_goes_beside_the_first_and_counts_instead(page: Page, server: Server) -> None:
    sign_in(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    page.locator("#entries li").first.get_by_role("button", name="Correct").tap()
    page.locator("[data-panel=dropoff] [data-by='1']").tap()
    page.locator("[data-panel=dropoff] [data-by='1']").tap()
    page.locator("#keep").tap()
    wait_until(page, lambda: server.entries == 2)
    assert tipped_ml(server) == 30_000
    corrected = page.locator("#entries li", has_text="Corrected to: 3 × Bucket of coffee grounds into Bay 1")
    expect(corrected).to_contain_text("✓ sent")
    page.locator("#entries").get_by_role("button", name="Undo").tap()
    expect(corrected).to_contain_text("✕ undone")
    wait_until(page, lambda: server.entries == 3)
    assert tipped_ml(server) == 0


def test_the_next_load_begins_with_one_of_the_same_material(page: Page, server: Server) -> None:
    """Three buckets of coffee say nothing of how many bags of leaves come next."""
    sign_in(page, server)
    count = page.locator("[data-panel=dropoff] [name=half_containers]")
    page.locator("#materials label", has_text="Coffee").tap()
    for press in ("[data-by='1']", "[data-by='1']", "[data-half]"):
        page.locator(f"[data-panel=dropoff] {press}").tap()
    page.locator("#keep").tap()
    expect(page.locator("#kept")).to_contain_text("3½ × Bucket of coffee grounds into Bay 1")
    for _ in range(2):
        expect(page.locator("#keep")).to_have_text("Keep 1 × Bucket of coffee grounds into Bay 1")
        expect(count).to_have_value("1")
        expect(page.locator("[data-panel=dropoff] [data-half]")).to_have_attribute("aria-pressed", "false")
        page.reload()


def test_a_heap_turned_in_its_bay_is_named_once(page: Page, server: Server) -> None:
    sign_in(page, server)
    page.get_by_role("button", name="Turn", exact=True).tap()
    page.locator("#sources label", has_text="Bay 1").tap()
    expect(page.locator("#keep")).to_have_text("Keep: Turned all of Bay 1")
    page.locator("#keep").tap()
    expect(page.locator("#kept")).to_contain_text("Turned all of Bay 1")
    expect(page.locator("#entries li b").first).to_have_text("Turned all of Bay 1")


def test_a_bay_closed_just_now_stays_closed_on_a_page_that_is_older(page: Page, server: Server) -> None:
    """The page comes from the phone, and the server is asked anew after a minute only."""
    sign_in(page, server)
    wait_for_worker(page)
    page.get_by_role("button", name="Close", exact=True).tap()
    page.locator("#keep").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    page.reload()
    page.locator("#entries > li").first.wait_for()
    expect(page.locator("#bays label", has_text="Bay 1")).to_contain_text("closed")
    expect(page.locator("#where-bay")).to_have_text("Bay 2")


def test_long_words_stay_out_of_what_is_said_of_keeping(page: Page, server: Server) -> None:
    """They would cover the form."""
    sign_in(page, server)
    page.get_by_role("button", name="Note", exact=True).tap()
    page.fill("[name=words]", "It smells of eggs where the lid does not close. " * 6)
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    expect(page.locator("#kept")).not_to_contain_text("eggs")
    expect(page.locator("#entries li").first).to_contain_text("eggs")


def test_a_closed_bay_asks_and_names_the_one_being_fed(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    page.get_by_role("button", name="Close", exact=True).tap()
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Closed: nothing more goes in, Bay 1").wait_for()
    page.locator("#where summary").tap()
    page.locator("#bays label", has_text="Bay 1").tap()
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#keep").tap()
    expect(page.locator("#ask")).to_contain_text("Bay 1 is closed: nothing more goes in. Bay 2 is being fed.")
    assert len(stored(page, "waiting")) == 1
    page.get_by_role("button", name="Use Bay 2").tap()
    expect(page.locator("#kept")).to_contain_text("coffee grounds into Bay 2")
    assert len(stored(page, "waiting")) == 2


def test_a_phone_of_some_years_ago_records_and_sends(page: Page, phone: BrowserContext, server: Server) -> None:
    phone.add_init_script(AN_OLDER_PHONE)
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    sign_in(page, server)
    assert page.evaluate("typeof structuredClone + typeof navigator.locks") == "undefinedundefined"
    phone.set_offline(True)
    page.get_by_role("button", name="Close", exact=True).tap()
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Closed: nothing more goes in, Bay 1").wait_for()
    record_coffee(page)
    expect(page.locator("#kept")).to_contain_text("coffee grounds into Bay 2")
    phone.set_offline(False)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 2 and not wrong


def test_what_never_goes_in_is_not_kept_and_the_page_says_what_to_do(page: Page) -> None:
    find(page, "plutonium")
    expect(page.locator("#found")).to_contain_text("Nothing by that name")
    find(page, "bones")
    page.locator("#found button", has_text="Meat, fish, bones").tap()
    expect(page.locator("#keep")).to_have_text("This does not go in")
    expect(page.locator("#verdict")).to_contain_text("This never goes in.")
    page.locator("#keep").tap()
    expect(page.get_by_role("alert")).to_contain_text("Meat, fish, bones never goes in.")
    expect(page.get_by_role("alert")).to_contain_text(instead(page, "meat-fish"))
    assert stored(page, "waiting") == []


def test_what_must_be_treated_first_is_asked_about(page: Page) -> None:
    find(page, "seed")
    page.locator("#found button", has_text="Weeds with seed").tap()
    page.locator("#keep").tap()
    expect(page.locator("#ask")).to_contain_text("Was it treated?")
    page.locator("#ask").get_by_role("button", name="No").tap()
    assert stored(page, "waiting") == []
    page.locator("#keep").tap()
    page.locator("#ask").get_by_role("button", name="Yes, it was").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    assert len(stored(page, "waiting")) == 1


@pytest.mark.usefixtures("server")
def test_a_material_is_found_by_a_plain_word(page: Page) -> None:
    for typed, wanted in {
        "orange": "Citrus peel",
        "peel": "Vegetable peelings",
        "newspaper": "Newspaper",
        "egg": "Egg boxes, pulp",
        "bindweed": "Weed roots that regrow",
        "GRASS clip": "Grass clippings",
        "bones": "Meat, fish, bones",
        "knotweed": "Knotweed and its like",
        "cat litter": "Dog or cat mess, litter",
        "manure horse": "Horse manure",
        "banana": "Fruit waste",
        "chicken": "Meat, fish, bones",
    }.items():
        find(page, typed)
        shown = page.locator("#found button").all_text_contents()
        assert wanted in shown[:6], typed
        assert len(shown) <= 12


def test_a_full_phone_says_not_kept_and_leaves_what_was_typed(page: Page) -> None:
    page.evaluate(FULL_DISK)
    page.locator("#materials label", has_text="Coffee").tap()
    write_words(page, "half of it wet")
    page.locator("#keep").tap()
    expect(page.get_by_role("alert")).to_contain_text("Not kept")
    expect(page.locator("#kept")).to_be_hidden()
    expect(page.locator("[name=words]")).to_have_value("half of it wet")
    assert stored(page, "waiting") == []
    page.evaluate("globalThis.disk_is_full = false")
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    assert [one["entry"]["words"] for one in stored(page, "waiting")] == ["half of it wet"]


def find(page: Page, typed: str) -> None:
    """Look for a material in the list of all."""
    if not page.locator("#find").is_visible():
        page.locator("#all-materials summary").tap()
    page.fill("#find", typed)


def instead(page: Page, key: str) -> str:
    """What the page's own list says to do instead."""
    rows = json.loads(page.locator("#feedstocks").text_content() or "")
    found: str = next(row[5] for row in rows if row[0] == key)
    assert found
    return found


def tipped_ml(server: Server) -> int:
    """How much lies in all bays, as the server has it."""
    total = 0
    for (state,) in server.rows("select state from heaps_storedbay"):
        batch = json.loads(state).get("batch") or {}
        total += sum(load["volume_ml"] for load in (batch.get("content") or {}).values())
    return total
