"""The cooperative's computer cannot write just now: what somebody typed in a form goes later, with one tap."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.browser.measuring import contrast, fits
from tests.browser.steps import sign_in
from tests.serving import Server, free_port

pytestmark = pytest.mark.browser

NAME = 'Two "Lanes" <b>& Growers</b>'


@pytest.fixture
def impatient(ground_file: Path, tmp_path: Path) -> Iterator[Server]:
    """A server that waits for nobody who writes, and on which Cleo may do everything."""
    server = Server(tmp_path / "heaps.sqlite3", free_port(), {"HEAPS_PATIENCE_S": "0.2"})
    shutil.copyfile(ground_file, server.database)
    server.rows("update members_member set is_administrator = 1 where username = 'cleo'")
    server.start()
    yield server
    server.kill()


def test_a_form_stays_filled_in_until_it_can_be_written(phone: BrowserContext, impatient: Server) -> None:
    page = phone.new_page()
    sign_in(page, impatient, "cleo")
    page.goto(f"{impatient.url}/set-up/cooperative/")
    page.fill("[name=name]", NAME)
    with closing(sqlite3.connect(impatient.database, isolation_level=None)) as somebody:
        somebody.execute("begin immediate")
        page.locator("main form button").first.click()
        expect(page.get_by_role("heading", level=1)).to_have_text("The cooperative's computer cannot write just now")
        page.get_by_role("button", name="Send it again").click()  # still nothing
        expect(page.get_by_role("heading", level=1)).to_have_text("The cooperative's computer cannot write just now")
        assert fits(page, 320) == contrast(page) == []
    page.get_by_role("button", name="Send it again").click()
    expect(page.locator("main")).to_contain_text("Kept.")
    assert impatient.rows("select name from members_cooperative") == [(NAME,)]
