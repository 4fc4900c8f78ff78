"""With two sites a phone says at which one it stands; and what follows from what was recorded is one tap away."""

import json
import uuid

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import open_recording, sign_in, stored, wait_until
from tests.serving import Server

pytestmark = pytest.mark.browser


def add_site(server: Server, name: str, bay: str) -> str:
    """A site like the first, with one bay like its first; the answer is its number."""
    site, lies = uuid.uuid4(), uuid.uuid4()
    for table, values in (
        ("heaps_site", {"uid": site.hex, "name": name}),
        ("heaps_bay", {"uid": lies.hex, "name": bay}),
    ):
        columns = [row[1] for row in server.rows(f"pragma table_info({table})") if row[1] not in ("id", *values)]
        kept = [f"(select id from heaps_site where name = '{name}')" if one == "site_id" else one for one in columns]
        server.rows(
            f"insert into {table} ({', '.join([*values, *columns])}) "
            f"select ?, ?, {', '.join(kept)} from {table} order by id limit 1",
            *values.values(),
        )
    return str(site)


def test_a_bay_is_named_with_its_site_and_a_page_leads_to_the_right_store(
    phone: BrowserContext, server: Server
) -> None:
    other = add_site(server, "Hill Top", "Long heap")
    page = phone.new_page()
    sign_in(page, server)
    expect(page.locator("#where-bay")).to_have_text("Long heap")
    expect(page.locator("#where-site")).to_have_text("Hill Top")
    page.locator("#where summary").tap()
    page.locator("#site").select_option(label="Lane Side")
    expect(page.locator("#where-bay")).to_have_text("Bay 1")
    expect(page.locator("#where-site")).to_have_text("Lane Side")
    page.goto(f"{server.url}/stock/")
    page.get_by_role("link", name="Count a store at Hill Top").tap()
    expect(page.locator("#title")).to_have_text("What stands in store?")
    expect(page.locator("#site")).to_have_value(other)
    page.locator("#materials label", has_text="leaves").first.tap()
    page.locator("[name=litres]:visible").fill("54")  # no container stands there
    page.locator("[name=half_containers]:visible").fill("4")
    page.locator("#keep").tap()
    wait_until(page, lambda: server.entries == 1)
    assert server.rows("select s.name from heaps_entry e join heaps_site s on s.id = e.site_id") == [("Hill Top",)]


def test_another_page_names_the_bay_and_what_is_recorded_there(page: Page, server: Server) -> None:
    second = page.locator("#bays input").nth(1).get_attribute("value") or ""
    page.goto(f"{server.url}/drop-off/now/")
    page.goto(f"{server.url}/drop-off/#water={second}")
    expect(page.locator("#title")).to_have_text("How much water?")
    expect(page.locator("#bays input:checked")).to_have_value(second)


def test_a_phone_says_whether_a_turn_fits_and_nothing_once_it_knows_of_another(page: Page) -> None:
    for fits in ("✓ It fits into Bay 2.", ""):
        page.get_by_role("button", name="Turn", exact=True).tap()
        page.locator("#sources label", has_text="Bay 1").tap()
        page.locator("#where summary").tap()
        page.locator("#bays label", has_text="Bay 2").tap()
        expect(page.locator("#effect")).to_have_text(fits)
        expect(page.locator("#keep")).to_have_text("Keep: Turned all of Bay 1 into Bay 2")
        page.locator("#keep").tap()
        page.locator("#kept", has_text="Kept on this phone").wait_for()


def test_what_stayed_on_the_sieve_is_one_tap_after_a_harvest(page: Page, server: Server) -> None:
    sign_in(page, server)
    for sieved, asked in (("Coarse", 0), ("Sieved", 1)):
        open_recording(page, server)
        page.get_by_role("button", name="Harvest", exact=True).tap()
        page.locator("[name=half_bags]:visible").fill("6")
        for words in (sieved, "A quarter"):
            page.locator("form#entry label.pick:visible", has_text=words).first.tap()
        page.locator("#keep").tap()
        page.locator("#kept", has_text="Kept on this phone").wait_for()
        expect(page.locator("#kept").get_by_role("button", name="Sieve leftovers")).to_have_count(asked)
    page.locator("#kept").get_by_role("button", name="Sieve leftovers").tap()
    expect(page.locator("#title")).to_have_text("What did you bring?")
    expect(page.locator("#materials input:checked")).to_have_value("screened-oversize")
    page.locator("#keep").tap()
    page.locator("#kept", has_text="sieve leftovers into Bay 1").wait_for()
    # what goes out between two looks is seen by both
    entries = [one["entry"] for name in ("waiting", "journal") for one in stored(page, name)]
    kinds = {one["uid"]: one["kind"] for one in entries}
    assert sorted(kinds.values()) == ["dropoff", "harvest", "harvest"]
    wait_until(page, lambda: bool(server.rows("select 1 from heaps_entry where kind = 'dropoff'")))
    ((details,),) = server.rows("select details from heaps_entry where kind = 'dropoff'")
    assert json.loads(details)["feedstock"] == "screened-oversize"
