"""Finding somebody in a long list: by what is typed, on the page itself."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from playwright.sync_api import Browser, Page, expect

pytestmark = pytest.mark.browser

SCRIPT = Path(__file__).parents[2] / "static" / "cooperative" / "find-in-list.js"
NAMES = ["Zoë Ångström", "Zack Reed", *(f"Somebody {number}" for number in range(10))]


@pytest.fixture
def listed(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A list of these names, the first few of which a test may ask for."""
    names = NAMES[: getattr(request, "param", len(NAMES))]
    rows = "".join(f"<li data-found-by='{name}'>{name}</li>" for name in names)
    page = browser.new_page()
    page.set_content(
        f"<style>[hidden] {{ display: none }}</style>{render_to_string('_find_in_list.html')}<ul>{rows}</ul>"
    )
    page.add_script_tag(content=SCRIPT.read_text("utf-8"), type="module")
    yield page
    page.close()


def test_what_holds_every_typed_word_stays(listed: Page) -> None:
    shown = listed.locator("li:visible")
    expect(shown).to_have_count(12)
    listed.get_by_label("Find by name").fill("zoe ang")
    expect(shown).to_have_text(["Zoë Ångström"])
    expect(listed.get_by_role("status")).to_have_text("1 / 12")
    listed.get_by_label("Find by name").fill("z")
    expect(shown).to_have_count(2)
    listed.get_by_label("Find by name").fill("zoe reed")
    expect(shown).to_have_count(0)
    expect(listed.get_by_role("status")).to_have_text("None of these. Try fewer letters.")
    listed.get_by_label("Find by name").fill("")
    expect(shown).to_have_count(12)
    expect(listed.get_by_role("status")).to_have_text("")


@pytest.mark.parametrize("listed", [9], indirect=True)
def test_a_short_list_asks_for_nothing(listed: Page) -> None:
    expect(listed.get_by_label("Find by name")).to_be_hidden()
