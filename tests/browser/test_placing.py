"""A coordinator forgets to choose a bay, far down a long tray: the page comes back at that form."""

import json
import uuid

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.browser.measuring import HEIGHT, axe_at, contrast, fits
from tests.browser.steps import sign_in
from tests.serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.bare]

PARK = """
insert into heaps_parked (uid, raw, reason, received_at, sent_at)
values (?, ?, 'One of its bays is not known at that site.', '2026-05-01 10:00:00', '2026-05-01 10:00:00')
"""


def park(server: Server, count: int) -> None:
    """Loads for bays that are not known here, of so many containers each: 1, 2, 3 and so on."""
    ((site,),) = server.rows("select uid from heaps_site")
    for number in range(1, count + 1):
        uid = uuid.uuid4()
        raw = {
            "wire": 1,
            "uid": str(uid),
            "kind": "dropoff",
            "site": str(uuid.UUID(site)),
            "bay": str(uuid.uuid4()),
            "occurred_at": "2026-05-01T10:00:00Z",
            "details": {"feedstock": "coffee", "half_containers": 2 * number, "container_ml": 10_000},
        }
        server.rows(PARK, uid.hex, json.dumps(raw))


def test_the_page_comes_back_where_a_bay_is_missing(phone: BrowserContext, server: Server) -> None:
    park(server, 12)
    page = phone.new_page()
    sign_in(page, server, "cleo")
    page.goto(f"{server.url}/tray/")
    entry = page.locator("#to-place > ul > li").filter(has_text="9 × 10 litres")
    entry.get_by_role("button", name="Place it").tap()
    refused = page.get_by_role("alert")
    expect(refused).to_have_text("Not settled. Choose a bay first.")
    for part in (entry, refused, entry.get_by_label("Its bay is")):
        expect(part).to_be_in_viewport()
    assert page.evaluate("scrollY") > 2 * HEIGHT
    assert axe_at(page, 360) == fits(page, 320) == contrast(page) == []
    entry.get_by_label("Its bay is").select_option("Lane Side, Bay 2")
    entry.get_by_role("button", name="Place it").tap()
    expect(page.get_by_role("status").first).to_have_text("Settled. Your answer is in the ledger.")
    expect(page.get_by_role("status").first).to_be_in_viewport()
    assert server.entries == 1
