"""Whole phones: a browser and a memory of its own for each, killed while it saves and while it sends.

Some schedules stand in the suite (tests/browser/test_whole_phones.py); `whole_run.py` plays as many as fit a time.
"""

import random
import shutil
from collections.abc import Callable
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Playwright

from tests import chromium
from tests.browser.steps import FULL_DISK, draft, open_recording, sign_in, stored, wait_for_worker, wait_until
from tests.faults.whole_counts import Counts
from tests.serving import NEWER_WORKER, SLOW_ANSWER, Server

PEOPLE = ("ada", "bela")
LIVES = 2  # of a phone in a schedule, each ended by a kill; a last one drains
TELL_WHEN_KEPT = """new MutationObserver(() => {
    const kept = document.getElementById('kept');
    if (kept && !kept.hidden && kept.textContent.includes('Kept on this phone')) console.log('it says kept');
}).observe(document, { subtree: true, childList: true, attributes: true });"""
UPDATE = "() => navigator.serviceWorker.ready.then((one) => one.update()).then(() => null)"


@dataclass(frozen=True)
class Bought:
    """A phone that has the recording page and on which Ada is signed in, and the server's database of that moment."""

    memory: Path
    base: Path
    executable: str


def buy(player: Playwright, server: Server, folder: Path, executable: str) -> Bought:
    """Such a phone, once for all schedules. It was switched off in order, so that it has its cookies."""
    bought = Bought(folder / "memory", folder / "base.sqlite3", executable)
    phone = chromium.phone_on(player, bought.memory, executable)
    sign_in(phone.pages[0], server)
    wait_for_worker(phone.pages[0])
    phone.close()
    shutil.copyfile(server.database, bought.base)
    return bought


class Schedule:
    """One schedule, played to its end."""

    def __init__(self, player: Playwright, server: Server, bought: Bought, folder: Path, seed: int) -> None:
        self.player, self.server, self.memory, self.seed = player, server, folder / f"phone-{seed}", seed
        self.executable = bought.executable
        self.chance, self.person = random.Random(seed), "ada"
        self.counts, self.story, self.ended = Counts(), [f"seed {seed}"], ""
        self.typed: dict[str, str] = {}  # words of an entry -> who was signed in
        self.kept: set[str] = set()  # the phone said so
        shutil.copytree(bought.memory, self.memory, ignore=shutil.ignore_patterns("Singleton*"))
        server.begin_anew(bought.base)

    def run(self) -> Counts:
        """All its lives, then heal, drain and count."""
        with ExitStack() as stack:
            stack.callback(shutil.rmtree, self.memory, ignore_errors=True)
            for _ in range(LIVES):
                self._live()
            if self.chance.random() < 0.5:
                self._killed_while_it_sends()
            self._drain()
        return self.counts

    # A life of the phone

    def _live(self) -> None:
        phone = self._switch_on(offline=self.chance.random() < 0.5)
        page = phone.pages[0]
        self._look_after_the_kill(page)
        for what in self.chance.sample(sorted(ACTIONS), self.chance.choice([1, 2])):
            self._tell(what)
            ACTIONS[what](self, phone)
        self._killed_while_it_saves(phone)

    def _switch_on(self, offline: bool) -> BrowserContext:
        self._tell("switched on" + " without a network" * offline)
        phone = chromium.phone_on(self.player, self.memory, self.executable, offline=offline)
        self.running = chromium.processes_on(self.memory)
        page = phone.pages[0]
        page.add_init_script(TELL_WHEN_KEPT)
        open_recording(page, self.server)
        return phone

    def _look_after_the_kill(self, page: Page) -> None:
        """What was being kept when the phone died is there, or in the form still, to be kept with one tap."""
        if not (words := self.ended):
            return
        with suppress(AssertionError):  # a busy phone may open its store late, and lay in what was begun only then
            wait_until(page, lambda: any(self._there(page, words)), seconds=10)
        held, in_form = self._there(page, words)
        self._tell(f"after the kill: {'kept' if held else 'in the form' if in_form else 'GONE'}")
        if held:
            self.kept.add(words)
        elif in_form and words not in self.kept:
            self._press_keep(page, words)
        else:
            self.counts.lost.append(f"{words}: neither kept nor in the form")

    def _there(self, page: Page, words: str) -> tuple[bool, bool]:
        """Whether an entry is kept here or has gone already, and whether it stands in the form."""
        waits = any(one["entry"]["words"] == words for one in stored(page, "waiting") if one.get("entry"))
        return waits or bool(self._rows(words)), page.locator("[name=words]").input_value() == words

    def _killed_while_it_saves(self, phone: BrowserContext) -> None:
        page, words = phone.pages[0], self._type(phone.pages[0])
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        wait_until(page, lambda: (draft(page) or {}).get("words") == words)
        moment_ms = self.chance.choice([0, self.chance.uniform(0, 15), self.chance.uniform(0, 60)])
        page.evaluate("setTimeout(() => document.getElementById('keep').click(), 0)")
        if moment_ms:
            page.wait_for_timeout(moment_ms)
        self._kill()
        self._tell(f"killed {moment_ms:.1f} ms after the tap on keep")
        self.ended = words
        if "it says kept" in said:
            self.kept.add(words)

    def _killed_while_it_sends(self) -> None:
        """A life that does nothing else. A killed browser loses a young cookie, so somebody may have to sign in."""
        phone = self._switch_on(offline=True)
        page = phone.pages[0]
        self._look_after_the_kill(page)
        self._press_keep(page, self._type(page))
        (self.server.odd / SLOW_ANSWER).touch()
        phone.set_offline(False)
        page.evaluate("document.getElementById('send-now').click()")
        page.wait_for_timeout(moment_ms := self.chance.uniform(0, 300))
        self._kill()
        self._tell(f"killed {moment_ms:.1f} ms after it began to send")
        (self.server.odd / SLOW_ANSWER).unlink(missing_ok=True)
        self.ended = ""

    def _kill(self) -> None:
        chromium.kill(self.memory, self.running)
        self.counts.kills += 1

    # What happens in it

    def record(self, phone: BrowserContext) -> None:
        """One more, by whoever is there."""
        self._press_keep(phone.pages[0], self._type(phone.pages[0]))

    def network_comes_and_goes(self, phone: BrowserContext) -> None:
        phone.set_offline(False)
        self.record(phone)
        phone.set_offline(True)
        self.record(phone)

    def two_tabs(self, phone: BrowserContext) -> None:
        """Both send at once."""
        other = phone.new_page()
        open_recording(other, self.server)
        self._press_keep(other, self._type(other))
        self._press_keep(phone.pages[0], self._type(phone.pages[0]))
        phone.set_offline(False)
        for page in (other, phone.pages[0]):
            page.evaluate("document.getElementById('send-now').click()")
        other.close()

    def somebody_else_comes(self, phone: BrowserContext) -> None:
        """With entries of the first still waiting."""
        page = phone.pages[0]
        phone.set_offline(True)
        self.record(phone)
        (self.server.odd / SLOW_ANSWER).touch()
        phone.set_offline(False)
        page.goto(f"{self.server.url}/guide/")
        if (button := page.get_by_role("button", name="Sign out")).count():  # a killed browser may have lost its cookie
            button.click()
            page.wait_for_url("**/sign-out/")
        self.person = PEOPLE[1 - PEOPLE.index(self.person)]
        sign_in(page, self.server, self.person)
        (self.server.odd / SLOW_ANSWER).unlink(missing_ok=True)
        self.record(phone)

    def worker_updated_while_typing(self, phone: BrowserContext) -> None:
        page, words = phone.pages[0], self._type(phone.pages[0])
        wait_until(page, lambda: (draft(page) or {}).get("words") == words)
        phone.set_offline(False)
        (self.server.odd / NEWER_WORKER).touch()
        page.evaluate(UPDATE)
        page.reload()
        page.locator("#entries > li").first.wait_for()
        wait_until(page, lambda: page.locator("[name=words]").input_value() == words)
        self._press_keep(page, words)

    def storage_full(self, phone: BrowserContext) -> None:
        """The phone has no room for what is kept, and then has some again."""
        page = phone.pages[0]
        words = self._type(page)
        page.evaluate(FULL_DISK)
        page.locator("#keep").tap()
        page.locator("#not-kept:not([hidden])").wait_for()
        if page.locator("[name=words]").input_value() != words or page.locator("#kept").is_visible():
            self.counts.lost.append(f"{words}: gone from the form when the phone was full")
        page.evaluate("disk_is_full = false")
        self._press_keep(page, words)

    def server_killed(self, phone: BrowserContext) -> None:
        """While a phone sends to it. Another takes its place on the same address."""
        self.record(phone)
        phone.set_offline(False)
        phone.pages[0].evaluate("document.getElementById('send-now').click()")
        phone.pages[0].wait_for_timeout(self.chance.uniform(0, 60))
        self.server.kill()
        self.record(phone)
        self.server.start()

    # Parts of these

    def _type(self, page: Page) -> str:
        words = f"seed {self.seed} entry {len(self.typed) + 1}"
        self.typed[words] = self.person
        if not page.locator("#more").evaluate("(one) => one.open"):
            page.locator("#more summary").tap()
        page.fill("[name=words]", words)
        page.locator("#materials label", has_text="Coffee").tap()
        return words

    def _press_keep(self, page: Page, words: str) -> None:
        page.locator("#keep").tap()
        page.locator("#kept", has_text="Kept on this phone").wait_for()
        wait_until(page, lambda: not page.locator("[name=words]").input_value())  # or it was of the one before
        self.kept.add(words)

    def _rows(self, words: str) -> list[tuple[Any, ...]]:
        return self.server.rows("select uid from heaps_entry where words = ?", words)

    def _tell(self, what: str) -> None:
        self.story.append(f"  {what}")

    # The end

    def _drain(self) -> None:
        for oddity in self.server.odd.glob("*"):
            oddity.unlink()
        phone = self._switch_on(offline=False)
        page = phone.pages[0]
        self._look_after_the_kill(page)
        for _ in range(4):
            page.locator("#send-now, #state a").first.wait_for(state="attached")
            waits = stored(page, "waiting")
            if not waits:
                break
            whose = self.typed[waits[0]["entry"]["words"]]
            phone.clear_cookies()
            sign_in(page, self.server, whose)
            if not all(one["person"] for one in waits):  # kept while nobody was signed in: the phone asks once
                page.locator("#yours-yes").tap()
            with suppress(AssertionError):
                wait_until(page, lambda whose=whose: whose not in self._waits_for(page), seconds=10)
        self.counts.add_up(self.server, self.typed, self.kept, stored(page, "waiting"))
        phone.close()

    def _waits_for(self, page: Page) -> list[str]:
        """Whose entries still wait."""
        return [self.typed[one["entry"]["words"]] for one in stored(page, "waiting")]


ACTIONS: dict[str, Callable[[Schedule, BrowserContext], None]] = {
    "record": Schedule.record,
    "the network comes and goes": Schedule.network_comes_and_goes,
    "two tabs": Schedule.two_tabs,
    "somebody else comes": Schedule.somebody_else_comes,
    "the worker is updated while somebody types": Schedule.worker_updated_while_typing,
    "storage full": Schedule.storage_full,
    "the server is killed": Schedule.server_killed,
}
