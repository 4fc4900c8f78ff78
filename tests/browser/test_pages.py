"""Every page, for the people who may see it: readable, reachable, in one column, and asking nobody else."""

import json
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page

from cooperative.demo import PASSWORD
from members.tickets import digest
from members.views.first_start import first_start_code
from tests import chromium
from tests.browser.steps import count_as_proved, sign_in
from tests.serving import EMPTY, SEASON, Server, make_database

pytestmark = pytest.mark.browser

INVITATION, WAY_IN = "an-invitation", "a-way-in"
MOMENT = "2026-10-17T10:00:00+00:00"
ROLES = ("nobody", "closed", "member", "coordinator", "treasurer", "administrator")
WHO = {"nobody": None, "member": "moss", "coordinator": "bryony", "treasurer": "sorrel", "administrator": "tansy"}
NO_PAGES = {
    "service_worker",
    "manifest",
    "heaps:now",
    "heaps:sync",
    "heaps:year_csv",
    "everything",
}  # asked for by programs
TABLE: list[dict[str, Any]] = tomllib.loads((Path(__file__).parent.parent / "access.toml").read_text())["page"]
LEAST_PX, LEAST_RECORDING_PX, LEAST_MAIN_PX, LEAST_CONTRAST = 48, 60, 96, 10.0

TELL_REPORTS = """addEventListener('securitypolicyviolation', (event) =>
    console.error(`policy: ${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}:${event.lineNumber}`));"""

#: What a thumb can hit and how large it is; links in running text are excepted.
#: A field and the label around it count as one.
TARGETS = """(within) => [...document.querySelectorAll('a[href], button, input, select, textarea, summary')]
  .filter((one) => !within || one.closest(within))
  .filter((one) => one.type !== 'hidden' && one.checkVisibility({ checkVisibilityCSS: true }) && !one.matches('.skip'))
  .filter((one) => !(one.matches('a') && getComputedStyle(one).display === 'inline'
      && [...one.parentElement.childNodes].some((near) => near.nodeType === 3 && near.data.trim())))
  .map((one) => {
    const whole = one.closest('label') || one;
    const { width, height } = whole.getBoundingClientRect();
    const name = `${one.tagName} ${one.name || one.id || ''} ${whole.textContent.trim().slice(0, 40)}`;
    return { name, width: Math.round(width * 10) / 10, height: Math.round(height * 10) / 10 };
  })"""

#: WCAG's contrast of each visible piece of text against the nearest background that is painted behind it.
CONTRASTS = """() => {
  const rgb = (text) => (text.match(/[\\d.]+/g) || []).map(Number);
  const light = (colour) => {
    const [r, g, b] = colour.map((one) => one / 255).map((one) =>
      one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const behind = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = rgb(getComputedStyle(at).backgroundColor);
      if (colour.length === 3 || colour[3] === 1) return colour.slice(0, 3);
    }
    return [255, 255, 255];
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const found = [];
  while (walker.nextNode()) {
    const text = walker.currentNode, one = text.parentElement;
    if (!text.data.trim() || one.closest('script, noscript, option') || !one.checkVisibility()) continue;
    const [a, b] = [light(rgb(getComputedStyle(one).color).slice(0, 3)), light(behind(one))].sort((x, y) => y - x);
    found.push([Math.round((a + 0.05) / (b + 0.05) * 10) / 10, text.data.trim().slice(0, 40)]);
  }
  return found;
}"""


@dataclass(frozen=True)
class Visit:
    """One page, seen by somebody in a role."""

    name: str
    role: str
    filled: tuple[tuple[str, str], ...]

    def __str__(self) -> str:
        return f"{self.name} {' '.join(what for _, what in self.filled)} {self.role}"


def visits() -> list[Visit]:
    """Each page once for the humblest role that may see it, and the first page for every role."""
    found = []
    for page in TABLE:
        if page["name"] in NO_PAGES or "GET" not in page:
            continue
        filled = tuple(page.get("with", {}).items())
        if any(what.startswith("other ") for _key, what in filled):
            continue  # looks as one's own does
        roles = [role for role in WHO if page["GET"][ROLES.index(role)] == 200]
        wanted = roles if page["name"] in ("heaps:home", "heaps:board") else roles[:1]
        found += [Visit(page["name"], role, filled) for role in wanted]
    return found


@pytest.fixture(scope="session")
def season_file(hashed_assets: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's nine months."""
    return make_database(tmp_path_factory.mktemp("season") / "season.sqlite3", SEASON.format(moment=MOMENT))


@pytest.fixture(scope="module")
def season(one_server: Server, season_file: Path) -> Server:
    """The server, with a season behind it."""
    one_server.begin_anew(season_file)
    now = timezone.now()
    for link, word, member in ((INVITATION, "apple", None), (WAY_IN, "tiger", "moss")):
        one_server.rows(
            "insert into members_ticket"
            " (first_word, other_words, link, made_at, ends_at, tries_left, member_id, made_by_id)"
            " values (?, '!', ?, ?, ?, 5, (select id from members_member where username = ?),"
            " (select id from members_member where username = 'tansy'))",
            word, digest(link), str(now), str(now + timedelta(days=1)), member,
        )  # fmt: skip
    return one_server


@pytest.fixture(scope="module")
def phones(browser: Browser, season: Server) -> Iterator[dict[str, Page]]:
    """A phone for each role, signed in."""
    contexts: dict[str, BrowserContext] = {role: chromium.new_phone(browser) for role in WHO}
    pages = {}
    for role, context in contexts.items():
        context.add_init_script(TELL_REPORTS)
        pages[role] = context.new_page()
        if username := WHO[role]:
            sign_in(pages[role], season, username, PASSWORD)
            count_as_proved(pages[role], season)
    yield pages
    for context in contexts.values():
        context.close()


@pytest.mark.parametrize("visit", visits(), ids=str)
def test_a_page_can_be_read_and_used_by_everybody_who_may_see_it(
    visit: Visit, phones: dict[str, Page], season: Server
) -> None:
    look(phones[visit.role], season, address(visit, season))


def test_what_is_shown_once_can_be_read_and_used(phones: dict[str, Page], season: Server) -> None:
    page = phones["coordinator"]
    page.goto(f"{season.url}{reverse('members:invite')}")
    page.get_by_role("button", name="At the gate now").tap()
    page.locator("img.scan").wait_for()
    found = [faults(page), too_wide(page, 320), too_wide(page, 360, doubled=True), small(page, LEAST_PX)]
    assert found == [[], False, False, []]


def test_the_first_start_can_be_read_and_used(
    page: Page, one_server: Server, tmp_path_factory: pytest.TempPathFactory
) -> None:
    one_server.begin_anew(make_database(tmp_path_factory.mktemp("empty") / "empty.sqlite3", EMPTY))
    look(page, one_server, reverse("members:first_start", args=[first_start_code()]))
    look(page, one_server, "/drop-off/")


def look(page: Page, server: Server, where: str) -> None:
    """Open a page and find nothing wrong with it."""
    told: list[str] = []
    asked: list[str] = []
    page.on("console", hear := lambda message: told.append(message.text) if message.type == "error" else None)
    page.on("pageerror", hear_error := lambda error: told.append(str(error)))
    page.on("request", hear_request := lambda request: asked.append(request.url))
    answer = page.goto(f"{server.url}{where}")
    assert answer and answer.status == 200
    page.wait_for_load_state("networkidle")
    found = {
        "told": told,
        "asked elsewhere": [url for url in asked if not url.startswith((server.url, "data:"))],
        "axe": faults(page),
        "too wide": [width for width in (360, 320) if too_wide(page, width)],
        "too wide when text is doubled": [360] if too_wide(page, 360, doubled=True) else [],
        "too small": small(page, LEAST_PX),
    }
    for event, listener in (("console", hear), ("pageerror", hear_error), ("request", hear_request)):
        page.remove_listener(event, listener)  # type: ignore[arg-type]
    assert found == {key: [] for key in found}, json.dumps(found, indent=1)


def faults(page: Page) -> list[str]:
    """What axe finds, in short."""
    violations = Axe().run(page).response["violations"]
    return [f"{one['id']}: {node['html'][:200]}" for one in violations for node in one["nodes"]]


def too_wide(page: Page, width: int, doubled: bool = False) -> bool:
    """Whether a page this narrow has to be moved sideways."""
    page.set_viewport_size({"width": width, "height": 740})
    page.evaluate("(size) => { document.documentElement.style.fontSize = size; }", "36px" if doubled else "")
    found: bool = page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth")
    page.evaluate("document.documentElement.style.fontSize = ''")
    page.set_viewport_size(chromium.PHONE["viewport"])
    return found


def small(page: Page, least: float, within: str = "") -> list[str]:
    """What is smaller than a thumb needs."""
    targets = page.evaluate(TARGETS, within)
    return [
        f"{one['name']}: {one['width']} x {one['height']}"
        for one in targets
        if one["height"] < least or one["width"] < least
    ]


def address(visit: Visit, server: Server) -> str:
    """Where that is in this season."""
    questions = {
        "own bay": "select uid from heaps_bay where name = 'Bay 1' order by id",
        "own site": "select uid from heaps_site order by id",
        "own container": "select uid from heaps_container order by id",
        "person": "select uid from members_member where username = 'yarrow'",
        "self": "select uid from members_member where username = 'tansy'",
        "year": "select 2026",
        "invitation": f"select '{INVITATION}'",
        "way in": f"select '{WAY_IN}'",
        "chapter": "select 'signs'",
        "own load": "select e.uid from heaps_entry e join heaps_beantest b on b.entry_id = e.id",
        "own bean test": "select id from heaps_beantest",
        "own donor": "select uid from heaps_donor order by id",
    }
    known = {key: server.rows(questions[what])[0][0] for key, what in visit.filled}
    return reverse(visit.name, kwargs={key: as_in_address(one) for key, one in known.items()})


def as_in_address(one: str | int) -> str | int:
    """A uid as addresses write it; a year, a link or a word as it is."""
    if isinstance(one, int) or len(one) != 32 or "-" in one:
        return one
    return f"{one[:8]}-{one[8:12]}-{one[12:16]}-{one[16:20]}-{one[20:]}"


def test_what_a_thumb_needs_to_record_is_large_and_dark_on_light(page: Page, server: Server) -> None:
    page.locator("#materials label", has_text="peelings").tap()
    for form in [None, *page.locator("#kinds button").all()]:
        if form:
            form.tap()
        page.locator("form#entry details").evaluate_all("(all) => all.forEach((one) => { one.open = true; })")
        assert small(page, LEAST_RECORDING_PX, within="#entry, #kinds") == []
        low = [one for one in page.evaluate(CONTRASTS) if one[0] < LEAST_CONTRAST]
        assert low == []
        main = page.locator("#keep").bounding_box()
        assert main and main["height"] >= LEAST_MAIN_PX


def test_the_recording_page_is_one_screen_for_a_usual_load(page: Page, server: Server) -> None:
    page.locator("#materials label", has_text="peelings").tap()
    bottom = page.locator(".bottom").bounding_box()
    count = page.locator("[data-panel=dropoff] .stepper").bounding_box()
    assert bottom and count
    assert count["y"] + count["height"] <= bottom["y"]
