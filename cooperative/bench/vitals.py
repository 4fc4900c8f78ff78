"""How the recording page feels without a network on a processor four times slower: LCP, INP and CLS, at p95.

What they mean is defined by the W3C's drafts of Largest Contentful Paint, Event Timing and Layout Instability.
A visit is a cold start in a new browser process, then three taps: a material, one more or one fewer, keep.
"""

from collections.abc import Iterator
from itertools import cycle, islice
from pathlib import Path

from playwright.sync_api import BrowserContext, CDPSession, Page, Playwright

from cooperative.bench.figures import Figure, p95
from tests import chromium

VISITS = 20
SLOWER = 4
MOST_LCP_MS, MOST_INP_MS, MOST_CLS = 1000, 100, 0.02
TAPS = 3

#: Shifts right after a tap are meant, and not counted by the standard; all others are added up over the whole visit.
WATCH = """(() => {
  globalThis.vitals = { lcp: 0, inp: 0, cls: 0 };
  const watch = (type, note, more) => new PerformanceObserver((list) => list.getEntries().forEach(note))
    .observe({ type, buffered: true, ...more });
  watch('largest-contentful-paint', (one) => { vitals.lcp = one.startTime; });
  watch('layout-shift', (one) => { if (!one.hadRecentInput) vitals.cls += one.value; });
  watch('event', (one) => { if (one.interactionId) vitals.inp = Math.max(vitals.inp, one.duration); },
    { durationThreshold: 16 });
})()"""
READ = """() => new Promise((done) => requestAnimationFrame(() => setTimeout(() =>
  done({ ...vitals, taps: performance.interactionCount }), 300)))"""
SPIN = """() => { const began = performance.now(); let sum = 0;
  for (let count = 0; count < 2e7; count += 1) sum += count % 7; return performance.now() - began + 0 * sum; }"""


def figures(player: Playwright, url: str, memory: Path, visits: int) -> Iterator[Figure]:
    """Measure on a phone that has kept the page already, whose server is gone."""
    sure = visits > 1  # one visit only shows that this runs, and no busy machine may stop it
    lcp, inp, cls = zip(*(one_visit(player, url, memory, sure, step) for step in steps(visits)), strict=True)
    where = "recording page, offline, CPU 4x slower"
    for name, values, unit, bar in (
        ("LCP of a cold start", lcp, "ms", MOST_LCP_MS),
        ("INP of choose, step, keep", inp, "ms", MOST_INP_MS),
        ("CLS", cls, "", MOST_CLS),
    ):
        spread = f"p95 of {visits}; {min(values):.4g}-{max(values):.4g}"
        yield Figure(f"{where}: {name}", p95(values), unit, bar, spread=spread)


def steps(visits: int) -> Iterator[int]:
    """One more and one fewer in turn: the page offers the last count again, and asks about more than twenty."""
    return islice(cycle((1, -1)), visits)


def one_visit(player: Playwright, url: str, memory: Path, sure: bool, step: int) -> tuple[float, float, float]:
    """Largest paint and slowest tap in milliseconds, and how far things jumped."""
    phone = chromium.phone_on(player, memory)
    page = phone.pages[0]
    page.add_init_script(WATCH)
    devtools = slowed(phone, page)
    page.goto(url)
    page.locator("#entries > li").first.wait_for()
    page.locator("#materials label").first.tap()
    page.locator(f"[data-panel=dropoff] [data-by='{step}']").first.tap()
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    found = page.evaluate(READ)
    if sure:
        must_be_slow(page, devtools)
    phone.close()
    if found["taps"] < TAPS or not found["lcp"]:
        raise AssertionError(f"The browser did not measure the whole visit: {found}")
    return found["lcp"], found["inp"], found["cls"]


def slowed(phone: BrowserContext, page: Page) -> CDPSession:
    """Slow the page's processor down."""
    devtools = phone.new_cdp_session(page)
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    return devtools


def must_be_slow(page: Page, devtools: CDPSession) -> None:
    """The slow-down may get lost on the way to another page; then the figures would flatter."""
    slow_ms = page.evaluate(SPIN)
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    fast_ms = min(page.evaluate(SPIN) for _ in range(3))
    if slow_ms < SLOWER / 2 * fast_ms:
        raise AssertionError(f"The processor was not slowed down: {slow_ms:.0f} against {fast_ms:.0f} ms")
