"""The guide on a phone: its search answers as the server does, all of it opens with the server gone, and it prints."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from heaps.guide import CHAPTERS
from heaps.guide.search import found_keys
from tests import chromium
from tests.browser import measuring
from tests.browser.steps import sign_in, sign_out, wait_for_worker, wait_until
from tests.browser.test_pages import nothing_in
from tests.serving import Server

pytestmark = pytest.mark.browser

VECTORS: dict[str, Any] = json.loads((Path(__file__).parents[1] / "vectors/guide_search.json").read_text())
ASK_ALL = """async (asked) => {
    const { finder } = await import('/static/heaps/guide-search.js');
    const find = finder(JSON.parse(document.getElementById('guide-index').textContent));
    return asked.map((one) => { const { keys, whole } = find(one); return [keys, whole]; });
}"""
SLIPS = """async (pairs) => {
    const { oneSlip } = await import('/static/heaps/guide-search.js');
    return pairs.map(([one, other]) => oneSlip(one, other));
}"""
KEPT_GUIDE = """async () => {
    const texts = {};
    for (const name of await caches.keys()) {
        const kept = await caches.open(name);
        for (const request of await kept.keys()) {
            const { pathname } = new URL(request.url);
            if (pathname.startsWith('/guide/')) texts[pathname] = await (await kept.match(request)).text();
        }
    }
    return texts;
}"""

FORGET = """async (path) => {
    for (const name of await caches.keys()) await (await caches.open(name)).delete(path, { ignoreVary: true });
}"""


def kept_guide(page: Page) -> dict[str, str]:
    """The pages of the guide that the phone keeps."""
    found: dict[str, str] = page.evaluate(KEPT_GUIDE)
    return found


def wait_for_guide(page: Page) -> None:
    """Wait until the phone keeps the guide and each chapter."""
    wait_for_worker(page)
    wait_until(page, lambda: len(kept_guide(page)) == len(CHAPTERS) + 1)


def test_the_phone_finds_what_the_server_finds(page: Page, server: Server) -> None:
    page.goto(f"{server.url}/guide/")
    asked = [case["ask"] for case in VECTORS["cases"]] + VECTORS["nothing"]
    asked += [one[:length] for one in asked for length in (3, 5)] + ["leaves", "potato", "compost", "grass plutonium"]
    expected = [list(found_keys(one)) for one in asked]
    found = page.evaluate(ASK_ALL, asked)
    assert [pair for pair in zip(asked, found, expected, strict=True) if pair[1] != pair[2]] == []
    assert page.evaluate(SLIPS, VECTORS["slips"]) == [is_one for *_, is_one in VECTORS["slips"]]


def test_all_of_the_guide_opens_with_the_server_gone_and_the_search_works(page: Page, server: Server) -> None:
    wait_for_guide(page)  # nobody has opened it yet
    server.kill()
    page.goto(f"{server.url}/guide/")
    page.fill("#q", "Can I put dog pooo in?")
    expect(page.locator("#found-things")).to_contain_text("✕ Never")
    expect(page.locator("#found-things")).to_contain_text("worm eggs")
    page.fill("#q", "smells of ammonia")
    expect(page.locator("#found-things > div")).to_have_count(0)
    page.locator("#found-places a").first.tap()
    expect(page.locator("#ammonia")).to_be_in_viewport()
    for key, chapter in CHAPTERS.items():
        page.goto(f"{server.url}/guide/{key}/")
        expect(page.get_by_role("heading", level=1)).to_have_text(str(chapter.title))


def test_a_question_in_the_address_is_answered_without_a_network(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    wait_for_guide(page)
    phone.set_offline(True)
    page.goto(f"{server.url}/guide/signs/")
    page.fill("#q", "plutonium")
    page.get_by_role("button", name="Look it up").tap()
    page.wait_for_url("**/guide/?q=plutonium")
    expect(page.locator("[data-say=none]")).to_be_visible()
    expect(page.locator("[data-say=none]")).to_contain_text("leave it out")
    page.fill("#q", "plutonium grass")
    expect(page.locator("[data-say=part]")).to_be_visible()
    expect(page.locator("[data-say=none]")).to_be_hidden()
    page.fill("#q", "")
    expect(page.locator("#found")).to_be_hidden()


def test_the_answer_to_one_question_is_not_kept_as_the_guide(page: Page, server: Server) -> None:
    wait_for_guide(page)
    page.goto(f"{server.url}/guide/?q=bread")
    page.wait_for_load_state("networkidle")
    assert 'value="bread"' in page.content()
    assert 'value="bread"' not in kept_guide(page)["/guide/"]


def test_after_a_sign_out_the_phone_keeps_the_guide_as_nobody_sees_it(page: Page, server: Server) -> None:
    sign_in(page, server)
    wait_for_guide(page)
    page.evaluate(FORGET, "/guide/signs/")
    page.goto(f"{server.url}/heaps/")  # the worker looks whether a page of the guide is missing
    wait_for_guide(page)
    assert "Sign out" not in kept_guide(page)["/guide/signs/"]
    page.goto(f"{server.url}/guide/")
    wait_until(page, lambda: "Sign out" in kept_guide(page)["/guide/"])
    sign_out(page, server)
    wait_for_guide(page)
    assert not [path for path, text in kept_guide(page).items() if "Sign out" in text]


def test_without_scripts_the_search_answers_all_the_same(browser: Browser, server: Server) -> None:
    context = chromium.new_phone(browser, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{server.url}/guide/")
    expect(page.locator("#found")).to_be_hidden()
    page.fill("#q", "mouldy bread")
    page.get_by_role("button", name="Look it up").tap()
    expect(page.locator("#found-things")).to_contain_text("✕ Never")
    context.close()


@pytest.mark.parametrize("key", CHAPTERS)
def test_a_chapter_can_be_read_and_used(page: Page, server: Server, key: str) -> None:
    page.goto(f"{server.url}/guide/{key}/")
    nothing_in(measuring.everything(page))


def test_an_answer_can_be_read_and_used(page: Page, server: Server) -> None:
    page.goto(f"{server.url}/guide/?q=potato")
    nothing_in(measuring.everything(page))


@pytest.mark.parametrize("key", [chapter.key for chapter in CHAPTERS.values() if chapter.one_sheet])
def test_what_hangs_by_the_bays_prints_on_one_sheet(page: Page, server: Server, key: str) -> None:
    page.goto(f"{server.url}/guide/{key}/")
    sheets = re.findall(rb"/Type\s*/Page[^s]", page.pdf(prefer_css_page_size=True))
    assert len(sheets) == 1
    page.emulate_media(media="print")
    expect(page.locator("form[role=search]")).to_be_hidden()
    expect(page.locator(".part").last).to_be_visible()
