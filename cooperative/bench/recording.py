"""The recording page: what a first visit transfers, and how it opens and answers from cold with no server there."""

import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Playwright, sync_playwright

from cooperative.bench import vitals
from cooperative.bench.figures import Figure, compared
from tests import chromium
from tests.serving import SEASON, Server, free_port, make_database

MOST_BYTES, MOST_SCRIPT_BYTES = 30_000, 12_000
SLOWEST = 2.0
MOMENT = "2026-10-17T10:00:00+00:00"

#: When the form can be used, counted from the start of the navigation: the worker's own start is part of it.
USABLE = """new MutationObserver(() => {
  if (!globalThis.usable_ms && document.querySelector('#materials label, #bare-form button')) {
    globalThis.usable_ms = performance.now();
  }
}).observe(document, { subtree: true, childList: true });"""
READ = """() => new Promise((done, fail) => {
  const look = () => globalThis.usable_ms ? done(globalThis.usable_ms) : setTimeout(look, 5);
  setTimeout(() => fail(new Error('It never became usable.')), 20000);
  look();
})"""
KEPT = """Promise.race([navigator.serviceWorker.ready.then(() => true),
  new Promise((done) => setTimeout(done, 20000, false))])"""

BARE_PAGE = """<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>Bare</title>
<form id="bare-form"><label>What <input name="what"></label><button>Keep</button></form>
<script>navigator.serviceWorker.register('/worker.js');</script></html>"""
BARE_WORKER = """self.addEventListener('install', (event) =>
  event.waitUntil(caches.open('bare').then((kept) => kept.add('/'))));
self.addEventListener('fetch', (event) => event.respondWith(caches.match(event.request)));"""


def figures(rounds: int, visits: int) -> Iterator[Figure]:
    """Measure both in a browser of this machine."""
    with tempfile.TemporaryDirectory(prefix="heaps-bench-") as name, sync_playwright() as player:
        folder = Path(name)
        server = Server(folder / "heaps.sqlite3", free_port())
        make_database(server.database, SEASON.format(moment=MOMENT))
        try:
            server.start()
            yield from first_visit(player, server)
            yield cold_starts(player, server, folder / "phone", rounds)
            yield from vitals.figures(player, f"{server.url}/drop-off/", folder / "phone", visits)
        finally:
            server.kill()


def first_visit(player: Playwright, server: Server) -> Iterator[Figure]:
    """Every byte of every answer, headers included, until the page is at rest; of its script, the packed file."""
    browser = chromium.launch(player)
    page = chromium.new_phone(browser).new_page()
    kinds: dict[str, str] = {}
    sizes: dict[str, float] = {}
    bodies: list[tuple[str, float]] = []
    devtools = page.context.new_cdp_session(page)
    devtools.on("Network.responseReceived", lambda told: kinds.update({told["requestId"]: told["type"]}))
    devtools.on("Network.loadingFinished", lambda told: sizes.update({told["requestId"]: told["encodedDataLength"]}))
    devtools.on("Network.dataReceived", lambda told: bodies.append((told["requestId"], told["encodedDataLength"])))
    devtools.send("Network.enable")
    page.goto(f"{server.url}/drop-off/")
    page.locator("#entries > li").first.wait_for()
    page.wait_for_load_state("networkidle")
    browser.close()
    script = sum(size for request, size in bodies if kinds.get(request) == "Script")
    yield Figure("recording page: first visit", sum(sizes.values()), "bytes", MOST_BYTES)
    yield Figure("recording page: JavaScript of it", script, "bytes", MOST_SCRIPT_BYTES)


def cold_starts(player: Playwright, server: Server, memory: Path, rounds: int) -> Figure:
    """A browser process of its own for each start, ours and the bare page in turns."""
    with bare_server() as bare_url:
        phone = chromium.phone_on(player, memory)
        for url in (f"{server.url}/drop-off/", bare_url):
            phone.pages[0].goto(url)
            if not phone.pages[0].evaluate(KEPT):
                raise TimeoutError(f"The phone did not keep {url}")
            phone.pages[0].wait_for_load_state("networkidle")
        phone.close()
    server.kill()
    times: dict[str, list[float]] = {f"{server.url}/drop-off/": [], bare_url: []}
    for number in range(rounds + 1):
        for url in sorted(times, reverse=bool(number % 2)):
            took_ms = one_start(player, memory, url)
            if number:  # the first start after the visit still tidies up
                times[url].append(took_ms)
    ours, bare = times.values()
    return compared("recording page: cold start with the server gone", ours, bare, SLOWEST)


def one_start(player: Playwright, memory: Path, url: str) -> float:
    """Milliseconds until the form can be used."""
    phone = chromium.phone_on(player, memory)
    page: Page = phone.pages[0]
    page.add_init_script(USABLE)
    page.goto(url)
    usable_ms: float = page.evaluate(READ)
    phone.close()
    return usable_ms


@contextmanager
def bare_server() -> Iterator[str]:
    """Serves the bare page, until a phone has kept it."""
    serving = ThreadingHTTPServer(("127.0.0.1", 0), _Bare)
    threading.Thread(target=serving.serve_forever, daemon=True).start()
    try:
        yield f"http://localhost:{serving.server_address[1]}/"
    finally:
        serving.shutdown()
        serving.server_close()


class _Bare(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        kind, text = ("javascript", BARE_WORKER) if self.path == "/worker.js" else ("html", BARE_PAGE)
        self.send_response(200)
        self.send_header("Content-Type", f"text/{kind}; charset=utf-8")
        self.end_headers()
        self.wfile.write(text.encode())

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""
