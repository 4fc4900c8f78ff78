"""Browsers of their own, killed while they save and while they send: nothing lost, doubled, invented or stuck."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright

from tests import chromium
from tests.faults.whole import ACTIONS, LIVES, Bought, Schedule, buy
from tests.serving import Server, free_port

pytestmark = pytest.mark.browser

#: Each thing that may befall a phone is among them. More by command: `manage.py faults --whole --minutes 60`.
SEEDS = range(1, 21)
played: list[Schedule] = []


@pytest.fixture(scope="module")
def own_server(ground_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server of their own, which they kill."""
    server = Server(tmp_path_factory.mktemp("whole") / "heaps.sqlite3", free_port())
    server.odd.mkdir()
    server.begin_anew(ground_file)
    yield server
    server.kill()


@pytest.fixture(scope="module")
def bought(player: Playwright, own_server: Server, tmp_path_factory: pytest.TempPathFactory) -> Bought:
    return buy(player, own_server, tmp_path_factory.mktemp("bought"), chromium.shell())


@pytest.mark.parametrize("seed", SEEDS)
def test_a_phone_that_is_killed_again_and_again_loses_and_doubles_nothing(
    player: Playwright, own_server: Server, bought: Bought, tmp_path: Path, seed: int
) -> None:
    schedule = Schedule(player, own_server, bought, tmp_path, seed)
    played.append(schedule)
    try:
        counts = schedule.run()
    except Exception as fault:
        fault.add_note("\n".join(schedule.story))
        raise
    assert counts.holds, "\n".join([*schedule.story, str(counts)])
    assert counts.kills >= LIVES


def test_each_was_killed_while_saving_twice_and_all_else_befell_them(capsys: pytest.CaptureFixture[str]) -> None:
    if len(played) < len(SEEDS):
        pytest.fail("the schedules above did not all run: this test counts what they did")
    saving = [line for one in played for line in one.story if "after the tap on keep" in line]
    assert len(saving) == LIVES * len(SEEDS)
    told = {line.strip() for one in played for line in one.story}
    assert set(ACTIONS) <= told
    with capsys.disabled():
        entries, kills = (sum(getattr(one.counts, name) for one in played) for name in ("entries", "kills"))
        sys.stdout.write(
            f"\nseeds {SEEDS[0]} to {SEEDS[-1]}: {entries} entries, {kills} kills, nothing lost or doubled\n"
        )
