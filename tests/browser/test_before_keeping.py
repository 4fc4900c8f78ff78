"""What the page says of a load before it is kept, what a site asks for at its gate, and browns on top with one tap."""

import json
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests import chromium
from tests.browser.conftest import SwitchOn
from tests.browser.steps import open_recording, record_coffee, sign_in, stored, wait_for_worker, wait_until
from tests.serving import Server

pytestmark = pytest.mark.browser

TOO_GREEN = "Too green with this: add 1 × Barrow of autumn leaves, loose."
HELPS = "Good: just what Bay 1 needs."
BOTH = "1 × Bucket of vegetable peelings into Bay 1. 1 × Barrow of autumn leaves, loose into Bay 1"
#: The corners that something else lies over, or its pale edge, which no thumb feels.
COVERED = """(all) => all.flatMap((one) => {
  const { left, right, top, bottom } = one.getBoundingClientRect();
  const spots = [[left + 4, top + 4], [right - 4, top + 4], [left + 4, bottom - 4], [right - 4, bottom - 4]];
  const at = (x, y) => document.elementFromPoint(x, y);
  const bar = document.querySelector(".bottom");
  const covered = ([x, y]) => !one.contains(at(x, y)) || (!bar.contains(one) && bar.contains(at(x, y + 4 + 7)));
  return spots.filter(covered).map((spot) => [one.outerHTML, ...spot]);
})"""
SHIFTS = """new PerformanceObserver((list) => {
  globalThis.shifts = [...(globalThis.shifts || []), ...list.getEntries().map(({ sources }) =>
    sources.map(({ node, previousRect, currentRect }) => `${node?.id || node} ${previousRect.y} ${currentRect.y}`))];
}).observe({ type: "layout-shift", buffered: true })"""


@pytest.fixture
def leaves(server: Server) -> None:
    """The site's usual brown is a barrow of autumn leaves."""
    server.rows(
        "insert into heaps_use (site_id, feedstock, container_id, loads) "
        "select site_id, 'leaves-mixed', id, 9 from heaps_container where name = 'Barrow'"
    )


@pytest.fixture
def page(leaves: None, phone: BrowserContext, server: Server) -> Page:
    """The recording page of that site."""
    page = phone.new_page()
    open_recording(page, server)
    return page


def choose(page: Page, material: str) -> None:
    page.locator("#materials label", has_text=material).tap()


def keep(page: Page) -> None:
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()


def find(page: Page, typed: str, name: str) -> None:
    page.locator("#all-materials summary").tap()
    page.fill("#find", typed)
    page.locator("#found button", has_text=name).first.tap()


def waits(page: Page) -> list[tuple[str, Any]]:
    """What waits on the phone, in the order in which it happened."""
    entries = sorted((one["entry"] for one in stored(page, "waiting")), key=lambda one: one["occurred_at"])
    return [(one["kind"], one["details"].get("feedstock")) for one in entries]


def lies(server: Server) -> dict[str, int]:
    """Millilitres of each material in all bays, as the server has it."""
    found: dict[str, int] = {}
    for (state,) in server.rows("select state from heaps_storedbay"):
        for key, load in ((json.loads(state)["batch"] or {}).get("content") or {}).items():
            found[key] = found.get(key, 0) + load["volume_ml"]
    return found


def test_browns_on_top_are_one_tap_and_an_entry_of_their_own(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    choose(page, "peelings")
    expect(page.locator("#top")).to_have_text("+ 1 × Barrow of autumn leaves, loose on top")
    page.locator("#top").tap()
    assert page.evaluate("scrollY") == 0, "what is chosen stays before the eyes"
    expect(page.locator("#keep")).to_have_text(
        "Keep 1 × Bucket of vegetable peelings into Bay 1, and 1 × Barrow of autumn leaves, loose on top"
    )
    keep(page)
    expect(page.locator("#kept")).to_contain_text(BOTH)
    assert waits(page) == [("dropoff", "peelings"), ("dropoff", "leaves-mixed")]
    expect(page.locator("#top input")).not_to_be_checked()
    phone.set_offline(False)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert lies(server) == {"peelings/estimated": 10_000, "leaves-mixed/estimated": 80_000}
    ((state,),) = server.rows("select state from heaps_storedbay where state like '%peelings%'")
    layers = json.loads(state)["batch"]["layers"]
    assert [one["feedstock"] for one in layers] == ["peelings", "leaves-mixed"], "on top means on top"


@pytest.mark.parametrize("width", [360, 320])
def test_nothing_that_is_said_of_a_load_covers_the_count(page: Page, phone: BrowserContext, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 640})
    phone.set_offline(True)
    choose(page, "peelings")
    keep(page)
    expect(page.locator("#state")).to_contain_text("No connection")
    count = "#keep, [data-panel=dropoff] .stepper > *"
    assert page.locator(f"#kept, {count}").evaluate_all(COVERED) == []
    choose(page, "peelings")
    page.locator("#containers label", has_text="Barrow").tap()
    page.locator("#top").tap()
    for part in ("#effect", "#verdict", "#top"):
        expect(page.locator(part)).to_be_visible()
    page.evaluate("scrollTo(0, 0)")
    assert page.locator(f"#effect, #verdict, #top, {count}").evaluate_all(COVERED) == []


def test_nothing_moves_when_the_page_finds_what_waits_and_what_was_brought_last(
    page: Page, phone: BrowserContext
) -> None:
    wait_for_worker(page)
    phone.set_offline(True)
    choose(page, "peelings")
    keep(page)
    page.add_init_script(SHIFTS)
    page.reload()
    expect(page.locator("#state")).to_contain_text("No connection")
    expect(page.locator("#effect")).to_be_visible()
    page.wait_for_timeout(100)
    assert page.evaluate("globalThis.shifts ?? []") == []


def test_undone_both_go_and_from_the_list_each_goes_alone(page: Page, server: Server) -> None:
    sign_in(page, server)
    for undo in ("both", "one"):
        choose(page, "peelings")
        page.locator("#top").tap()
        keep(page)
        if undo == "both":
            page.locator("#kept").get_by_role("button", name="Undo").tap()
            expect(page.locator("#kept")).to_contain_text("Undone")
            wait_until(page, lambda: lies(server) == {} and server.entries == 4)
    page.locator("#entries li", has_text="autumn leaves").first.get_by_role("button", name="Undo").tap()
    wait_until(page, lambda: lies(server) == {"peelings/estimated": 10_000})


def test_tapped_twice_in_a_hurry_both_are_kept_once(page: Page) -> None:
    page.route("**/sync/", lambda route: route.abort())
    choose(page, "peelings")
    page.locator("#top").tap()
    page.evaluate("() => { const keep = document.getElementById('keep'); keep.click(); keep.click(); }")
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    page.wait_for_timeout(300)
    assert waits(page) == [("dropoff", "peelings"), ("dropoff", "leaves-mixed")]


@pytest.mark.usefixtures("leaves")
def test_killed_in_between_there_are_both_or_none(switch_on: SwitchOn, server: Server, memory: Path) -> None:
    phone = switch_on()
    sign_in(phone.pages[0], server)
    wait_for_worker(phone.pages[0])
    phone.close()
    for moment_ms in (0, 5, 25, 80):
        page = switch_on(offline=True).pages[0]
        open_recording(page, server)
        before = len(stored(page, "waiting"))
        choose(page, "peelings")
        page.locator("#top").check(force=True)
        page.evaluate("setTimeout(() => document.getElementById('keep').click(), 0)")
        if moment_ms:
            page.wait_for_timeout(moment_ms)
        chromium.kill(memory)
        phone = switch_on(offline=True)
        open_recording(phone.pages[0], server)
        assert len(stored(phone.pages[0], "waiting")) - before in (0, 2)
        phone.close()


def test_an_unfinished_entry_comes_back_with_its_browns(page: Page, server: Server) -> None:
    choose(page, "peelings")
    page.locator("#top").tap()
    page.wait_for_timeout(800)  # the draft is kept half a second after the last tap
    open_recording(page, server)
    expect(page.locator("#top input")).to_be_checked()
    expect(page.locator("#keep")).to_contain_text("loose on top")


def test_browns_are_offered_with_greens_only_and_not_into_the_leaf_bin(page: Page) -> None:
    for material, offered in {"Cardboard": False, "peelings": True, "Autumn leaves": False, "Coffee": True}.items():
        choose(page, material)
        expect(page.locator("#top")).to_be_visible(visible=offered)
    page.locator("#top").tap()
    choose(page, "Cardboard")
    keep(page)
    assert waits(page) == [("dropoff", "cardboard")], "what was ticked for greens went with them"
    choose(page, "Coffee")
    page.locator("#where summary").tap()
    page.locator("#bays label", has_text="Leaf bin").tap()
    expect(page.locator("#top")).to_be_hidden()
    find(page, "bones", "Meat, fish, bones")
    expect(page.locator("#top")).to_be_hidden()


def test_a_correction_lays_nothing_on_top(page: Page) -> None:
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    page.locator("#entries li").first.get_by_role("button", name="Correct").tap()
    expect(page.locator("#keep")).to_contain_text("coffee grounds")
    expect(page.locator("#top")).to_be_hidden()
    expect(page.locator("#effect")).to_be_hidden()


def test_it_says_what_a_load_does_with_what_waits_here_too(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    choose(page, "peelings")
    expect(page.locator("#effect")).to_have_text(TOO_GREEN)
    page.locator("#top").tap()
    expect(page.locator("#effect")).to_be_hidden()
    page.locator("#top").tap()
    expect(page.locator("#effect")).to_have_text(TOO_GREEN)
    choose(page, "Autumn leaves")
    keep(page)
    choose(page, "peelings")
    page.locator("#containers label", has_text="Bucket").tap()
    expect(page.locator("#effect")).to_have_text(HELPS)
    phone.set_offline(False)  # it goes by itself
    expect(page.locator("#state")).to_contain_text("All sent")
    choose(page, "Coffee")
    choose(page, "peelings")
    expect(page.locator("#effect")).to_have_text(HELPS)
    page.locator("#entries li").first.get_by_role("button", name="Undo").tap()
    expect(page.locator("#effect")).to_have_text(TOO_GREEN)


def test_a_heap_that_is_full_with_it_is_offered_no_browns_on_top(page: Page) -> None:
    choose(page, "peelings")
    expect(page.locator("#top")).to_be_visible()
    page.locator("#top").tap()
    page.fill("[name=half_containers]", "150")
    expect(page.locator("#effect")).to_have_text("With this, Bay 1 is about full.")
    expect(page.locator("#top")).to_be_hidden()
    expect(page.locator("#keep")).not_to_contain_text("on top")


def test_water_and_a_turn_that_wait_here_are_counted_or_silence_it(page: Page, phone: BrowserContext) -> None:
    phone.set_offline(True)
    choose(page, "Autumn leaves")
    expect(page.locator("#effect")).to_have_text("Too dry with this: add 10 litres of water.")
    keep(page)
    page.get_by_role("button", name="Water", exact=True).tap()
    page.fill("[name=volume_ml]", "20")
    keep(page)
    choose(page, "Autumn leaves")
    expect(page.locator("#effect")).to_have_text(HELPS)
    page.get_by_role("button", name="Turn", exact=True).tap()
    page.locator("#sources label", has_text="Bay 1").tap()
    keep(page)
    choose(page, "peelings")
    expect(page.locator("#top")).to_be_visible()
    expect(page.locator("#effect")).to_be_hidden()
