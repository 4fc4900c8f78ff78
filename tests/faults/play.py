"""Plays a schedule on light phones and counts, at its end, what became of every entry."""

import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from tests import chromium
from tests.faults.counting import Book, Counts
from tests.faults.ground import COORDINATOR, PEOPLE, SITE
from tests.faults.phones import Phone
from tests.faults.proxy import Network
from tests.faults.schedules import TABS, Action, schedule
from tests.faults.world import World

ROUNDS = 8  # of draining, before what still waits counts as stuck


@dataclass
class Stage:
    """Server, network and phones, which all schedules share; what they know begins anew with each."""

    world: World
    network: Network
    phones: list[Phone]


@contextmanager
def stage(folder: Path) -> Iterator[Stage]:
    """Everything a schedule needs."""
    with ExitStack() as stack:
        world = stack.enter_context(World(folder))
        network = stack.enter_context(Network(world.server.port, len(TABS)))
        browser: Browser = chromium.launch(stack.enter_context(sync_playwright()), chromium.shell())
        stack.callback(browser.close)
        yield Stage(world, network, [Phone.new(browser, network, place, tabs) for place, tabs in enumerate(TABS)])


@dataclass
class Play:
    """One schedule as it is played."""

    stage: Stage
    seed: int
    book: Book = field(default_factory=Book)
    story: list[str] = field(default_factory=list)
    begun_s: float = field(default_factory=time.monotonic)

    def run(self, happen: "Mapping[str, Callable[[Play, Phone, Action], None]]") -> Counts:
        """Play it to its end, heal everything, drain, and count."""
        world = self.stage.world
        world.begin_anew()
        for phone, person in zip(self.stage.phones, PEOPLE.values(), strict=False):
            phone.begin_anew()
            self.sign_in(phone, person)
            phone.send(0)
        for number, action in enumerate(schedule(self.seed), 1):
            self.tell(f"{number:3}. phone {action.phone} tab {action.tab}: {action}")
            happen[action.what](self, self.stage.phones[action.phone], action)
        self._heal()
        self._drain()
        self.tell("everything works again and is drained")
        counts = self.book.count(self.stage.phones, world)
        if counts.holds:
            for phone in self.stage.phones:
                phone.rest()
        return counts

    def tell(self, line: str) -> None:
        self.story.append(f"{time.monotonic() - self.begun_s:6.2f} s {line}")

    def sign_in(self, phone: Phone, person: str | None) -> None:
        world = self.stage.world
        here = person if person and world.is_here(person) else None
        phone.sign_in(here, world.sign_in(here) if here else "")

    def pick(self, phone: Phone, action: Action) -> dict[str, Any] | None:
        """One of the entries on a phone that is no correction and can be read."""
        seen = phone.seen()
        uids = [one["uid"] for one in seen["waiting"] if not one.get("refused")] + seen["journal"]
        uids = [uid for uid in uids if uid in self.book.kept and uid not in self.book.spoiled]
        uids = [uid for uid in uids if self.book.kept[uid]["entry"]["kind"] != "correction"]
        return phone.ask(0, "light.record(given)", uids[int(action.pick * len(uids))]) if uids else None

    def keep_correction(self, phone: Phone, action: Action, entry: dict[str, Any]) -> None:
        """As keeping.js keeps it."""
        details = dict(entry["details"])
        if "half_containers" in details:
            details["half_containers"] = action.said["half_containers"]
        instead = {"corrects": entry["uid"], "says": "instead", "kind": entry["kind"], "bay": entry["bay"]}
        instead |= {"details": details, "occurred_at": None}
        said = {"uid": action.said["uid"], "kind": "correction", "site": SITE, "bay": entry["bay"], "details": instead}
        self.book.keep(phone.ask(action.tab, "light.keep(given)", said))

    def take(self, action: Action, kind: str, bay: str | None, details: dict[str, Any]) -> None:
        now = datetime.now(tz=UTC).isoformat()
        raw = {"wire": 1, "uid": action.said["uid"], "kind": kind, "site": SITE, "bay": bay, "occurred_at": now}
        receipt = self.stage.world.take(raw | {"by_hand": False, "details": details, "words": ""}, COORDINATOR)
        self.book.own.add(action.said["uid"])
        self.tell(f"     {receipt.state if receipt else 'nobody is there to say it'}")

    def look(self, phone: Phone, seen: dict[str, Any]) -> None:
        """What the phone says now, held against what the server has."""
        posts = [f"{one.fault} {one.status}".strip() for one in phone.line.log]
        phone.line.log.clear()
        self.tell(f"     {', '.join(posts) or 'no request'}; {len(seen['waiting'])} there; it says {seen['says']!r}")
        self.book.look(phone, seen, self.stage.world)

    def _heal(self) -> None:
        """Everything works again, clocks too."""
        for phone in self.stage.phones:
            phone.line.heal()
            self.stage.network.release(phone.line)
            phone.finish()
        self.stage.network.settle()
        self.stage.world.live()
        for phone in self.stage.phones:
            phone.set_clock(0)
            for tab in range(len(phone.tabs)):
                phone.ask(tab, "light.withoutLocks(false)")

    def _drain(self) -> None:
        """Each person whose entries wait on a phone signs in there; whoever cannot any more has them handed in."""
        for phone in self.stage.phones:
            seen = phone.send(0)
            for _ in range(ROUNDS):
                for person in dict.fromkeys(map(self._whose, open_of(seen["waiting"]))):
                    seen = self._send_as(phone, person)

    def _whose(self, one: dict[str, Any]) -> str:
        """Who recorded it; if nobody was signed in, somebody who has not said that it is none of theirs."""
        asked = (COORDINATOR, *(person for person in PEOPLE.values() if self.stage.world.is_here(person)))
        return one.get("person") or next((person for person in asked if not one.get(person)), COORDINATOR)

    def _send_as(self, phone: Phone, person: str) -> dict[str, Any]:
        self.stage.world.end_session(phone.cookie)
        self.sign_in(phone, person)
        seen = phone.send(0)
        if not phone.person:
            seen = phone.do(0, "handIn")
        elif seen["unclaimed"]:
            seen = phone.do(0, "claim", True)
        self.look(phone, seen)
        return seen


def open_of(waiting: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What still waits to be sent."""
    return [one for one in waiting if not one.get("refused") and not one.get("withdrawn")]
