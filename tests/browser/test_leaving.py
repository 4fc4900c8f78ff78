"""Somebody sees what became of their loads, takes everything along, and leaves; the phone forgets whose it was."""

import json
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.steps import open_recording, record_coffee, setting, sign_in, stored, wait_until
from tests.serving import Server

pytestmark = pytest.mark.browser


def test_leaving_from_one_s_own_phone(page: Page, server: Server) -> None:
    sign_in(page, server, "ada")
    ((uid,),) = server.rows("select uid from members_member where username = 'ada'")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    page.goto(f"{server.url}/me/")
    expect(page.locator("main")).to_contain_text("1 load of yours went in")
    with page.expect_download() as taken:
        page.get_by_role("link", name="Everything about me").tap()
    found = json.loads(Path(taken.value.path()).read_text())
    assert (found["account"]["sign_in_name"], len(found["entries"])) == ("ada", 1)
    page.get_by_role("link", name="Leave").tap()
    page.get_by_role("button", name="Erase me").tap()
    expect(page.get_by_role("heading", name="Leave")).to_be_visible()  # one tap alone erases nobody
    page.get_by_label("Yes, erase me for good").check()
    page.get_by_role("button", name="Erase me").tap()
    expect(page.locator("main")).to_contain_text("You have left.")
    assert server.rows("select person_id, device, words from heaps_entry") == [(None, None, "")]
    assert server.rows("select uid from members_member where username = 'ada'") == []
    wait_until(page, lambda: setting(page, "person") is None)
    open_recording(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("Kept on this phone")
    kept = json.dumps([stored(page, name) for name in ("waiting", "settings")])  # the journal goes after its 35 days
    assert uid.replace("-", "") not in kept.replace("-", "")
    assert server.entries == 1
