"""The page for something else: each of its kinds to the ledger, without a network, undone, corrected and kept."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import measuring
from tests.browser.conftest import SwitchOn
from tests.browser.steps import setting, sign_in, stored, top_draft, wait_for_worker, wait_until
from tests.browser.test_pages import nothing_in
from tests.serving import Server

pytestmark = pytest.mark.browser


@pytest.fixture
def more(page: Page, server: Server) -> Page:
    """The page for something else, with Ada signed in."""
    sign_in(page, server)
    open_more(page, server)
    return page


def open_more(page: Page, server: Server, hash_: str = "") -> None:
    page.goto(f"{server.url}/drop-off/more/{hash_}")
    page.locator("#entries > li").first.wait_for()


def start(page: Page, name: str) -> None:
    page.locator("#kinds").get_by_role("button", name=name, exact=True).tap()


def pick(page: Page, words: str) -> None:
    page.locator("form#entry label.pick:visible", has_text=words).first.tap()


def fill(page: Page, name: str, value: str) -> None:
    page.locator(f"[name='{name}']:visible").fill(value)


def keep(page: Page) -> str:
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    return page.locator("#kept p").inner_text()


def turned_away(page: Page) -> None:
    pick(page, "Grass")
    pick(page, "May carry weedkiller")


def mulching(page: Page) -> None:
    fill(page, "tenths_m2", "12.5")
    fill(page, "half_bags", "3½")
    fill(page, "depth_mm", "5")


def store(page: Page) -> None:
    pick(page, "leaves")
    pick(page, "Barrow")
    fill(page, "half_containers", "0")


def tub(page: Page) -> None:
    pick(page, "Into the tub")
    pick(page, "Bindweed")
    pick(page, "Other size")
    fill(page, "litres", "12")


def weighing(page: Page) -> None:
    pick(page, "Coffee")
    fill(page, "full_g", "6,5")
    fill(page, "empty_g", "0.5")


def talk(page: Page) -> None:
    pick(page, "Workshop")
    fill(page, "people", "14")
    fill(page, "minutes", "1.5")


BAGS = {"half_containers": 18, "container_ml": 40_000}
KINDS: list[tuple[str, Callable[[Page], Any], str, dict[str, Any], str]] = [
    ("Turned away", turned_away, "refused_load", {"feedstock": "grass-fresh", "why": "may carry weedkiller"},
     "Turned away: grass clippings"),
    ("Soaking tub", tub, "soak", {"way": "in", "weed": "bindweed", "half_containers": 2, "container_ml": 12_000},
     "1 × 12 litres of bindweed into the tub"),
    ("Weigh a container", weighing, "weighing", {"feedstock": "coffee", "full_g": 6500, "empty_g": 500},
     "Weighed: Bucket of coffee grounds, 6 kg"),
    ("Cover", lambda page: pick(page, "Put on"), "cover", {"way": "on"}, "Covered, Bay 1"),
    ("Mulching", mulching, "spread", {"tenths_m2": 125, "half_bags": 7, "bag_ml": 40_000, "depth_mm": 50},
     "Mulched 12.5 square metres, 5 cm deep, 3½ bags"),
    ("Count a store", store, "stocktake", {"half_containers": 0, "container_ml": 80_000, "feedstock": "leaves-mixed"},
     "In store: 0 × 80 litres of autumn leaves"),
    ("Count bags", lambda page: fill(page, "half_containers", "9"), "stocktake", BAGS, "In store: 9 bags of compost"),
    ("Talk or workshop", talk, "session", {"sort": "workshop", "people": 14, "minutes": 90},
     "workshop: 14 people, 1.5 hours"),
    ("Hours, for others too", lambda page: fill(page, "minutes", "2"), "hours", {"minutes": 120, "people": 1},
     "2 hours, 1 person"),
    ("Accident or danger", lambda page: pick(page, "Rats"), "incident", {"what": "rats"}, "Went wrong: rats"),
]  # fmt: skip


def test_each_kind_comes_to_the_ledger_and_reads_well(more: Page, server: Server) -> None:
    for number, (name, fill_in, kind, details, says) in enumerate(KINDS, 1):
        start(more, name)
        fill_in(more)
        assert says in keep(more)
        wait_until(more, lambda number=number: server.entries == number)  # type: ignore[misc]  # see its stubs
        ((found, sent),) = server.rows("select kind, details from heaps_entry order by id desc limit 1")
        assert found == kind
        sent = json.loads(sent)
        assert {key: sent.get(key) for key in details} == details
    more.goto(f"{server.url}/drop-off/")
    more.locator("#entries > li").first.wait_for()
    for words in ("Turned away", "Cover, Bay 1", "Talk or workshop", "Accident or danger", "Undo"):
        expect(more.locator("#entries")).to_contain_text(words)


def test_an_accident_brings_its_own_caution_and_is_at_no_bay_until_one_is_named(more: Page, server: Server) -> None:
    start(more, "Accident or danger")
    more.locator("#keep").tap()
    expect(more.locator("#not-kept")).to_contain_text("Say what it was.")
    for what, says in {
        "Rats": "leptospirosis",
        "Glass, needles": "No bare hands",
        "Fire or smoke": "fire service",
    }.items():
        pick(more, what)
        expect(more.locator("[data-caution]:visible")).to_have_count(1)
        expect(more.locator("[data-caution]:visible")).to_contain_text(says)
        caution, main = more.locator("[data-caution]:visible").bounding_box(), more.locator(".bottom").bounding_box()
        assert caution and main and caution["y"] + caution["height"] <= main["y"]
    keep(more)
    there = stored(more, "waiting") + stored(more, "journal")  # between the two looks it may go
    assert [bay for _uid, bay in {(one["uid"], one["entry"]["bay"]) for one in there}] == [None]


def test_what_never_goes_in_leads_from_the_gate_to_the_record_that_it_was_turned_away(
    page: Page, server: Server
) -> None:
    page.locator("#all-materials summary").tap()
    page.fill("#find", "bones")
    page.locator("#found button", has_text="Meat, fish, bones").tap()
    page.get_by_role("link", name="Record that it was turned away").tap()
    expect(page.locator("#title")).to_have_text("What was turned away?")
    expect(page.locator("#verdict")).to_contain_text("This never goes in.")
    assert "Turned away: meat, fish, bones (never goes in)" in keep(page)
    (kept,) = stored(page, "waiting")
    assert kept["entry"]["details"] == {"feedstock": "meat-fish", "why": "never goes in"}


def test_undone_and_corrected_as_on_the_first_page(more: Page, server: Server) -> None:
    start(more, "Count bags")
    fill(more, "half_containers", "9")
    keep(more)
    wait_until(more, lambda: server.entries == 1)
    more.locator("#entries li").first.get_by_role("button", name="Correct").tap()
    expect(more.locator("#title")).to_have_text("How many bags of compost are there?")
    expect(more.locator("[data-panel=bags] [name=half_containers]")).to_have_value("9")
    fill(more, "half_containers", "8")
    assert "Corrected to: In store: 8 bags" in keep(more)
    start(more, "Cover")
    pick(more, "Taken off")
    keep(more)
    more.locator("#kept").get_by_role("button", name="Undo").tap()
    expect(more.locator("#kept")).to_contain_text("Undone")
    wait_until(more, lambda: server.entries == 4)
    says = [json.loads(one).get("says") for (one,) in server.rows("select details from heaps_entry order by id")]
    assert says == [None, "instead", None, "withdraw"]


def test_it_opens_from_cold_without_a_network_with_the_unfinished_entry(switch_on: SwitchOn, server: Server) -> None:
    phone: BrowserContext = switch_on()
    sign_in(phone.pages[0], server)
    wait_for_worker(phone.pages[0])
    phone.close()
    phone = switch_on(offline=True)
    page = phone.pages[0]
    open_more(page, server, "#talk")
    pick(page, "Workshop")
    fill(page, "people", "14")
    draft = f"draft of something else {setting(page, 'person')}"  # each person's own
    wait_until(page, lambda: ["people", "14"] in (top_draft(page, draft) or {}).get("raw", []))
    assert top_draft(page, "draft") is None
    phone.close()
    phone = switch_on(offline=True)
    page = phone.pages[0]
    open_more(page, server)
    expect(page.locator("#draft-back")).to_be_visible()
    expect(page.locator("[data-panel=talk] [name=people]")).to_have_value("14")
    keep(page)
    assert top_draft(page, draft) is None
    phone.set_offline(False)
    wait_until(page, lambda: server.entries == 1)


def test_every_panel_can_be_read_and_used_with_one_thumb(page: Page, server: Server) -> None:
    open_more(page, server)
    found = {f"first, {what}": said for what, said in measuring.everything(page).items()}
    for panel in page.locator("[data-button]").evaluate_all("(all) => all.map((one) => one.dataset.panel)"):
        open_more(page, server, f"?{panel}#{panel}")
        page.locator("form#entry details").evaluate_all("(all) => all.forEach((one) => { one.open = true; })")
        found |= {f"{panel}, {what}": said for what, said in measuring.laid_out(page).items()}
        found[f"{panel}, axe"] = measuring.axe_at(page, 320)
    nothing_in(found)
