"""Light phones: the product's own modules in pages of a browser; each has a database, cookies and a clock."""

import time
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Error, Page

from tests import chromium
from tests.faults.proxy import Line, Network

ANSWER_MS = 10_001  # a little longer than a phone waits for an answer


@dataclass
class Phone:
    """One phone: its tabs share what it keeps. `person` and `cookie` say who is signed in, as far as it was told."""

    number: int
    context: BrowserContext
    line: Line
    network: Network
    tabs: list[Page] = field(default_factory=list)
    person: str | None = None
    cookie: str = ""
    off_s: int = 0
    rested: bool = False  # whether its tabs are as if opened just now

    @classmethod
    def new(cls, browser: Browser, network: Network, number: int, tabs: int, **more: Any) -> "Phone":
        context = chromium.new_phone(browser, **more)
        context.clock.install()
        phone = cls(number, context, network.lines[number], network)
        phone.tabs = [context.new_page() for _ in range(tabs)]
        return phone

    def begin_anew(self) -> None:
        """As bought."""
        self.line.heal()
        self.line.log.clear()
        self.line.keeps_alive = False
        self.network.release(self.line)
        self.context.clear_cookies()
        self.person, self.cookie = None, ""
        if not self.rested:
            self.set_clock(0)
            for tab in range(len(self.tabs)):
                self.open(tab)
        self.rested = False
        self.ask(0, "light.forget()")

    def rest(self) -> None:
        """The first tab has just sent, now the others do. Who did so without trouble has forgotten its pauses, and so
        is as if opened just now, and need not be."""
        seen = [self.seen(), *(self.send(tab) for tab in range(1, len(self.tabs)))]
        self.rested = not any(one["trouble"] for one in seen)

    def open(self, tab: int) -> None:
        """Open a tab anew. What it was doing is cut off."""
        self.tabs[tab].goto(f"{self.line.url}/light/phone.html")

    def ask(self, tab: int, script: str, given: Any = None) -> Any:
        """What a piece of script answers in one tab."""
        return self.tabs[tab].evaluate(f"async (given) => await {script}", given)

    def set_clock(self, off_s: int) -> None:
        """The phone's clock is that much wrong from now on."""
        self.off_s = off_s
        self.context.clock.set_system_time(datetime.now(tz=UTC) + timedelta(seconds=off_s))

    def sign_in(self, person: str | None, cookie: str) -> None:
        """Somebody comes or goes, as the pages of signing in and out do it."""
        self.person, self.cookie = person, cookie
        self.context.clear_cookies(name="session")
        if cookie:
            self.context.add_cookies([{"name": "session", "value": cookie, "url": self.line.url}])
        self.ask(0, "light.nobodyIsHere()")

    def send(self, tab: int, hurry: bool = True) -> dict[str, Any]:
        """Send, however long the network takes; then what the phone holds and says."""
        return self.do(tab, "send", hurry)

    def do(self, tab: int, what: str, *given: Any) -> dict[str, Any]:
        """Let one tab send, undo, claim or hand in, and wait for its end."""
        if self.line.keeps_waiting:
            self.begin(tab, what, *given)
            return self.finish()
        return dict(
            self.tabs[tab].evaluate("(given) => { light.begin(...given); return light.idle(); }", [what, *given])
        )

    def begin(self, tab: int, what: str, *given: Any) -> None:
        self.tabs[tab].evaluate("(given) => { light.begin(...given); }", [what, *given])

    def finish(self) -> dict[str, Any]:
        """Wait until no tab is busy. What the network holds back is waited for no longer than a phone does."""
        while self.line.keeps_waiting and any(self.ask(tab, "light.busy()") for tab in range(len(self.tabs))):
            if self.line.just_held:
                self.line.just_held = False
                self.context.clock.fast_forward(ANSWER_MS)
            time.sleep(0.005)
        return [dict(self.ask(tab, "light.idle()")) for tab in range(len(self.tabs))][-1]

    def seen(self) -> dict[str, Any]:
        found: dict[str, Any] = self.ask(0, "light.seen()")
        return found

    def close(self) -> None:
        with suppress(Error):  # it may have gone before
            self.context.close()
