"""An old notebook on a coordinator's phone: looked at, brought in step by step, stopped, gone on, taken back."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser import measuring
from tests.browser.steps import sign_in
from tests.browser.test_pages import nothing_in
from tests.serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.bare]
ROWS = 2_600  # several steps


def notebook() -> bytes:
    days = ((row, f"2024-{1 + row % 12:02}-{1 + row // 12 % 28:02},{row % 24:02}:00") for row in range(ROWS))
    lines = (f"drop-off,{day},Bay {1 + row % 2},coffee,{1 + row // 500}\n" for row, day in days)
    return ("what,date,time,bay,Stuff,liters\n" + "".join(lines)).encode()


def test_in_by_itself_stopped_gone_on_and_out_again(page: Page, server: Server) -> None:
    sign_in(page, server, "cleo")
    page.goto(f"{server.url}/set-up/")
    page.get_by_role("link", name="Bring in an old notebook").tap()
    notebook_csv = {"name": "old <i> notebook.csv", "mimeType": "text/csv", "buffer": notebook()}
    page.set_input_files("[name=file]", notebook_csv)
    page.get_by_role("button", name="Look at the file").tap()
    expect(page.locator("h1")).to_have_text("old <i> notebook.csv")
    expect(page.get_by_role("button", name="Bring these in")).to_be_visible()
    expect(page.locator("#import")).to_contain_text("litres of Coffee grounds into Bay 1")
    assert server.entries == 0
    nothing_in(measuring.everything(page))
    page.get_by_role("button", name="Bring these in").tap()
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator("#import")).to_have_attribute("data-state", "stopped")
    stopped_at = server.entries
    assert stopped_at < ROWS
    page.reload()
    assert server.entries == stopped_at, "nobody said to go on"
    page.get_by_role("button", name="Go on").tap()
    expect(page.locator("#import")).to_have_attribute("data-state", "done")
    assert server.entries == ROWS
    page.get_by_role("button", name="Take the whole import back").tap()
    expect(page.locator("#import")).to_contain_text("Nothing of this file counts any more.")
    ((left,),) = server.rows("select count(*) from heaps_daytotal")
    assert (left, server.entries) == (0, 2 * ROWS)
