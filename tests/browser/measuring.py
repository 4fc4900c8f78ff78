"""Measures a page as it stands in Chromium: with axe, at each width, with large words, by keyboard and on paper."""

from dataclasses import dataclass
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests import chromium
from tests.browser import paper
from tests.browser.scripts import SCRIPTS, ask

#: Every page; and the way from choosing to keeping, which is used outdoors with a glove or a wet thumb.
LEAST_PX, LEAST_RECORDING_PX, LEAST_MAIN_PX = 48, 60, 96
LEAST_CONTRAST, LEAST_RECORDING_CONTRAST = 7.0, 10.0
LEAST_EDGE, LEAST_RING = 4.5, 3.0  # WCAG 1.4.11 asks for 3:1
WIDTHS = (320, 360, 412, 1280)
HEIGHT = 740
#: WCAG 1.4.12: what a reader may set without losing words.
SPACED = """* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }
p { margin-bottom: 2em !important; }"""
RECORDING = ("/drop-off/", "/drop-off/more/", "/drop-off/kept/")
#: The next Tab goes to the page's first stop, whatever was tapped before.
BEFORE_ALL = """document.body.tabIndex = -1; document.body.focus(); document.body.blur();
document.body.removeAttribute('tabindex'); scrollTo(0, 0)"""
TABS_INSIDE = 8  # a field for day and time has a stop for each of its parts

AXE = Axe()
#: Contrast is left to `contrast`, which asks for more, looks at every piece of text, and is ten times faster.
AXE_OPTIONS = {"resultTypes": ["violations"], "preload": False, "rules": {"color-contrast": {"enabled": False}}}


@dataclass(frozen=True)
class Bars:
    """What a page must hold."""

    least_px: float
    least_contrast: float
    sentences: bool  # whether a link within a sentence may be as small as its words

    @classmethod
    def of(cls, page: Page) -> "Bars":
        """Those of the recording path are stricter: there no link is excepted."""
        recording = page.evaluate("location.pathname") in RECORDING
        if recording:
            return cls(LEAST_RECORDING_PX, LEAST_RECORDING_CONTRAST, sentences=False)
        return cls(LEAST_PX, LEAST_CONTRAST, sentences=True)


Found = dict[str, list[str]]


def everything(page: Page) -> Found:
    """All that is wrong with a page, by what was measured. Nothing is loaded anew meanwhile."""
    return laid_out(page) | {
        "axe": [*axe_at(page, 320), *axe_at(page, 1280)],
        "keyboard": keyboard(page),
        "paper": paper.faults(page),
    }


def laid_out(page: Page) -> Found:
    """What does not fit, is too small or too pale: at each width, with large words and with spaced words."""
    bars = Bars.of(page)
    found = {f"at {width} px": fits(page, width, bars) for width in WIDTHS}
    found["words at 200 %"] = large_words(page, bars)
    found["spaced words"] = spaced_words(page, bars)
    found["contrast"] = contrast(page, bars)
    at_phone(page)
    return found


def fits(page: Page, width: int, bars: Bars | None = None) -> list[str]:
    """What does not fit a screen this wide."""
    page.set_viewport_size({"width": width, "height": HEIGHT})
    return as_laid_out(page, bars or Bars.of(page))


def as_laid_out(page: Page, bars: Bars) -> list[str]:
    """What does not fit as the page stands. It must hold words and something to reach, or nothing was measured."""
    asked = {"least": bars.least_px, "sentences": bars.sentences}
    measured = ask(page, "laid_out", asked)
    assert measured["texts"] and measured["targets"], f"nothing to measure on {page.url}"
    found: list[str] = measured["found"]
    return found


def large_words(page: Page, bars: Bars) -> list[str]:
    """What does not fit the narrowest screen when a reader has doubled the words."""
    page.set_viewport_size({"width": 320, "height": HEIGHT})
    page.evaluate("document.documentElement.style.fontSize = '36px'")
    found = as_laid_out(page, bars)
    page.evaluate("document.documentElement.style.fontSize = ''")
    return found


def spaced_words(page: Page, bars: Bars) -> list[str]:
    """What does not fit when a reader has set the words further apart."""
    page.set_viewport_size({"width": 320, "height": HEIGHT})
    page.evaluate(
        """(text) => { globalThis.spaced = new CSSStyleSheet(); spaced.replaceSync(text);
        document.adoptedStyleSheets.push(spaced); }""",
        SPACED,
    )
    found = as_laid_out(page, bars)
    page.evaluate("document.adoptedStyleSheets.pop()")
    return found


def contrast(page: Page, bars: Bars | None = None) -> list[str]:
    """What is written or drawn too pale."""
    bars = bars or Bars.of(page)
    measured = ask(page, "contrast", {"least": bars.least_contrast, "leastEdge": LEAST_EDGE})
    assert measured["texts"]
    found: list[str] = measured["found"]
    return found


def axe_at(page: Page, width: int) -> list[str]:
    """What axe finds on a screen this wide, in short."""
    page.set_viewport_size({"width": width, "height": HEIGHT})
    if not page.evaluate("'axe' in globalThis"):
        page.evaluate(AXE.axe_script)
    violations = page.evaluate("(options) => axe.run(options).then((said) => said.violations)", AXE_OPTIONS)
    return [f"{one['id']}: {node['html'][:200]}" for one in violations for node in one["nodes"]]


def keyboard(page: Page) -> list[str]:
    """What a keyboard alone cannot reach, see or find in the order of the page."""
    at_phone(page)
    page.evaluate(BEFORE_ALL)
    stops = ask(page, "stops")
    found = [f"jumps the queue: {one}" for one in stops["jumps"]]
    before: dict[str, Any] = {"place": -1, "top": 0, "stuck": True}
    for _ in range(len(stops["names"]) * TABS_INSIDE):
        if before["place"] == len(stops["names"]) - 1:
            break
        page.keyboard.press("Tab")
        at = page.evaluate(SCRIPTS["focus"], {"leastRing": LEAST_RING})
        if at is None:
            break
        if at["place"] == before["place"]:
            continue
        found += at["problems"]
        if at["place"] != before["place"] + 1:
            found.append(f"out of order: {at['name']} is stop {at['place']} after {before['place']}")
        if not (at["stuck"] or before["stuck"]) and at["bottom"] <= before["top"]:
            found.append(f"goes back up: {at['name']}")
        before = at
    return found + [f"not reached: {one}" for one in stops["names"][before["place"] + 1 :]]


def at_phone(page: Page) -> None:
    """The usual phone again."""
    page.set_viewport_size(chromium.PHONE["viewport"])
