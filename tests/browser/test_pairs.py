"""Two faults at once, each pair five times, at other moments and in other numbers: nothing lost, doubled or stuck."""

import random
import shutil
import sqlite3
import threading
import time
import uuid
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests import chromium
from tests.browser.conftest import NewLight, SwitchOn
from tests.browser.light import SENT, WAITS, keep, load, sign_in, waits
from tests.browser.steps import open_recording, record_coffee, stored, wait_for_worker, wait_until, write_words
from tests.browser.steps import sign_in as sign_in_by_form
from tests.browser.test_worker import UPDATE, WAITING_WORKER
from tests.faults.phones import Phone
from tests.faults.proxy import Fault, Network
from tests.serving import NEWER_WORKER, WORKER_DIES_AFTER_COMMIT, Server

pytestmark = pytest.mark.browser

five_times = pytest.mark.parametrize("seed", range(5))
FULL = "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('Full.', 'QuotaExceededError'); }; }"


@five_times
def test_killed_after_commit_and_the_session_ended(light: Phone, server: Server, seed: int) -> None:
    """F2 and F16: there is no answer, and when the phone asks again nobody is signed in."""
    many = random.Random(seed).randint(1, 60)
    for _ in range(many):
        keep(light, load(server))
    (server.odd / WORKER_DIES_AFTER_COMMIT).touch()
    seen = light.send(0)
    taken = server.entries
    assert (len(waits(seen)), WAITS in seen["says"], taken) == (many, True, min(many, 50))
    server.rows("delete from members_session")
    seen = light.send(0)
    assert (len(waits(seen)), seen["signedOut"], server.entries) == (many, True, taken)
    sign_in(light, server, "ada")
    assert SENT in light.send(0)["says"]
    assert server.entries == many


@five_times
def test_bays_turned_and_then_an_older_backup(new_light: NewLight, server: Server, tmp_path: Path, seed: int) -> None:
    """F19 and F30: a turn is in the ledger, then never was, then comes back from the phone that recorded it."""
    chance = random.Random(seed)
    ada, cleo = new_light("ada"), new_light("cleo")
    backup = tmp_path / "backup.sqlite3"
    here = load(server)["bay"]
    turn = {"kind": "turn", "details": {"sources": [{"bay": here, "per_cent": 100}]}}
    steps = [(ada, {}), (cleo, turn | {"bay": load(server, bay="Bay 2")["bay"]}), (ada, {})]
    when = chance.randint(0, 2)
    for number, (phone, said) in enumerate(steps):
        if number == when:
            with closing(sqlite3.connect(server.database)) as source, closing(sqlite3.connect(backup)) as target:
                source.backup(target)
        keep(phone, load(server) | said)
        assert SENT in phone.send(0)["says"]
    keep(ada, load(server))  # and one waits
    server.begin_anew(backup)
    server.rows("update heaps_ledger set epoch = ?", uuid.UUID(int=chance.getrandbits(128)).hex)
    assert server.entries == when
    for phone in chance.sample([ada, cleo], 2):
        assert SENT in phone.send(0)["says"]
    assert server.entries == 4
    assert server.rows("select sum(entries) from heaps_daytotal where what = 'came in'") == [(3,)]


@five_times
def test_a_locked_database_and_the_same_letter_twice(light: Phone, server: Server, seed: int) -> None:
    """F27 and F6: both copies of a letter wait for the lock, and one of them finds the other's rows."""
    chance = random.Random(seed)
    many = chance.randint(1, 20)
    for _ in range(many):
        keep(light, load(server))
    begun = threading.Event()

    def lock() -> None:
        with closing(sqlite3.connect(server.database, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            begun.set()
            time.sleep(chance.uniform(0.1, 0.8))
            other.execute("ROLLBACK")

    holding = threading.Thread(target=lock)
    holding.start()
    begun.wait()
    light.line.plan(Fault("double"))
    seen = light.send(0)
    holding.join()
    assert (SENT in seen["says"], server.entries) == (True, many)


@five_times
def test_an_answer_cut_short_and_another_version_in_the_middle_of_an_entry(
    phone: BrowserContext, network: Network, server: Server, seed: int
) -> None:
    """F4 and F24: what went waits on, what is typed stays typed, and the older page still hands it in."""
    line = network.lines[0]
    behind = Server(server.database, line.port)
    page = phone.new_page()
    sign_in_by_form(page, behind)
    wait_for_worker(page)
    open_recording(page, behind)  # from now on the page comes from the worker, so that another one waits for it
    line.plan(*(Fault("cut answer", random.Random(seed).uniform(0, 0.95)),) * 2)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting")
    line.heal()
    write_words(page, "half of it wet")
    wait_until(page, lambda: any("half of it" in str(one) for one in stored(page, "settings")))
    (server.odd / NEWER_WORKER).touch()
    page.evaluate(UPDATE)
    wait_until(page, lambda: bool(page.evaluate(WAITING_WORKER)), seconds=60)  # it fetches every file anew
    page.reload()
    expect(page.locator("[name=words]")).to_have_value("half of it wet")
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#keep").tap()
    wait_until(page, lambda: server.entries == 2)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.rows("select words from heaps_entry order by words") == [("",), ("half of it wet",)]


@five_times
def test_a_full_phone_and_then_killed(switch_on: SwitchOn, server: Server, memory: Path, seed: int) -> None:
    """F20 and F25: nothing was called kept, and what was kept before is there."""
    chance = random.Random(seed)
    page = switch_on(offline=False).pages[0]
    open_recording(page, server)
    wait_for_worker(page)
    record_coffee(page)
    page.evaluate(FULL)
    try_to_keep(page, "when it was full")
    page.wait_for_timeout(chance.uniform(0, 100))
    chromium.kill(memory)
    shutil.rmtree(memory / "Crashpad", ignore_errors=True)
    page = switch_on().pages[0]
    open_recording(page, server)
    assert [one["entry"]["words"] for one in stored(page, "waiting")] == [""]
    expect(page.locator("#state")).to_contain_text("1 entry")
    write_words(page, "and now it is not") if not page.locator("[name=words]").input_value() else None
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#keep").tap()
    page.locator("#kept", has_text="Kept on this phone").wait_for()
    assert len(stored(page, "waiting")) == 2


def try_to_keep(page: Page, words: str) -> None:
    """Fill the form and press the button; it says that it could not be kept, and stays as it is."""
    write_words(page, words)
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#keep").tap()
    expect(page.get_by_role("alert")).to_contain_text("Not kept")
    expect(page.locator("#kept")).to_be_hidden()
    expect(page.locator("[name=words]")).to_have_value(words)
