"""The server's own clock is wrong: an hour back, a day, ten years either way. It is set while it runs."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.faults.bases import Base
from tests.faults.batches import Ground
from tests.faults.visitor import Visitor
from tests.serving import Server, free_port

LIBRARY = "libfaketimeMT.so.1"
HOUR, DAY, TEN_YEARS = 3600, 86_400, 10 * 365 * 86_400

#: Python's own server: gunicorn sleeps by a clock that libfaketime 0.9.10 refuses ("Invalid argument").
SERVE = """
import sys
from wsgiref.simple_server import make_server
from tests.odd_server import application
make_server("127.0.0.1", int(sys.argv[1]), application).serve_forever()
"""

SetClock = Callable[[int], None]


class Clocked(Server):
    """A server that goes by a clock of its own."""

    def _program(self) -> list[str]:
        return ["-c", SERVE, str(self.port)]


def library() -> str:
    """Where Debian's package puts it, whatever the machine."""
    return str(next(Path("/usr/lib").glob(f"*/faketime/{LIBRARY}")))


@pytest.fixture
def set_clock(tmp_path: Path) -> SetClock:
    """Sets the clock of the running server so many seconds forward or back."""

    def set_clock(seconds: int) -> None:
        fresh = tmp_path / "fresh"
        fresh.write_text(f"{seconds:+d}")
        fresh.rename(tmp_path / "clock")

    set_clock(0)
    return set_clock


@pytest.fixture
def odd_clock(base: Base, set_clock: SetClock, tmp_path: Path) -> Iterator[Server]:
    """A server that goes by that clock. What measures how long something takes goes on as before."""
    told = {"LD_PRELOAD": library(), "FAKETIME_TIMESTAMP_FILE": str(tmp_path / "clock"), "FAKETIME_NO_CACHE": "1"}
    told |= {"FAKETIME_DONT_FAKE_MONOTONIC": "1", "NO_FAKE_STAT": "1", "DATABASE_URL": base.url}
    server = Clocked(tmp_path / "none.sqlite3", free_port(), told)
    try:
        server.start()
        yield server
    finally:
        server.kill()


@pytest.mark.sqlite
def test_a_clock_set_back_loses_nothing_doubles_nothing_and_signs_nobody_out(
    base: Base, odd_clock: Server, set_clock: SetClock
) -> None:
    ada, ground = Visitor(odd_clock).sign_in(), Ground(base)
    sent = []
    for seconds in (0, -HOUR, -DAY, -TEN_YEARS, 0):
        set_clock(seconds)
        assert ada.hello().said["person"] == ada.person
        entries, states = ground.batch()
        answer = ada.send(entries)
        assert answer and answer.states == states
        again = ada.send(entries)
        assert again and again.states == ["known"] * 5 + ["parked", "refused"]
        sent += entries[:5]
    held = base.rows("select count(*), count(distinct uid), count(distinct chain) from heaps_entry")
    assert held == [(len(sent), len(sent), len(sent))]
    base.prove()


@pytest.mark.sqlite
def test_a_day_that_a_wrong_clock_made_is_asked_about(base: Base, odd_clock: Server, set_clock: SetClock) -> None:
    ada, ground = Visitor(odd_clock).sign_in(), Ground(base)
    ada.send([ground.coffee()])
    assert base.rows("select count(*) from heaps_question") == [(0,)]
    set_clock(-TEN_YEARS)
    ada.send([ground.coffee()])
    assert base.rows("select says from heaps_question") == [
        ("The phone's clock and that of the cooperative's computer were days apart. Is this the right day?",)
    ]


@pytest.mark.sqlite
def test_ten_years_ahead_everybody_signs_in_anew_and_nothing_is_lost(
    base: Base, odd_clock: Server, set_clock: SetClock
) -> None:
    ada, ground = Visitor(odd_clock).sign_in(), Ground(base)
    entries, states = ground.batch()
    set_clock(TEN_YEARS)
    answer = ada.send(entries)
    assert answer and answer.status == 401
    assert base.rows("select count(*) from heaps_entry") == [(0,)]
    set_clock(0)
    ada.sign_in()
    answer = ada.send(entries)
    assert answer and answer.states == states
    base.prove()
