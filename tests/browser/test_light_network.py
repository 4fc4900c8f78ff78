"""What a network does to light phones (cut, late, doubled, answered by nobody), and what ledger and phone say then."""

import sqlite3
import time
from contextlib import closing

import pytest

from tests.browser.light import SENT, WAITS, keep, load, waits
from tests.faults.answers import ANSWERS
from tests.faults.phones import Phone
from tests.faults.proxy import Fault, Network
from tests.serving import Server

pytestmark = pytest.mark.browser

TENTHS = [tenth / 10 for tenth in range(11)]


def test_a_request_cut_at_any_tenth_leaves_a_whole_row_or_none(light: Phone, server: Server) -> None:
    for number, part in enumerate(TENTHS):
        keep(light, load(server))
        light.line.plan(Fault("cut request", part))
        seen = light.send(0)
        assert (len(waits(seen)), WAITS in seen["says"]) == (1, True)
        assert server.entries == number + (part == 1)
        assert SENT in light.send(0)["says"]
        assert server.entries == number + 1


def test_an_answer_cut_at_any_tenth_ends_no_wait(light: Phone, server: Server) -> None:
    for number, part in enumerate(TENTHS[:-1], 1):
        keep(light, load(server))
        light.line.plan(Fault("cut answer", part))
        seen = light.send(0)
        assert (len(waits(seen)), WAITS in seen["says"], server.entries) == (1, True, number)
        assert SENT in light.send(0)["says"]
        assert server.entries == number


@pytest.mark.parametrize("held", ["hold request", "hold answer"])
def test_an_answer_that_comes_too_late_costs_nothing(light: Phone, network: Network, server: Server, held: str) -> None:
    keep(light, load(server))
    light.line.plan(Fault(held))
    seen = light.send(0)
    assert (len(waits(seen)), seen["trouble"]) == (1, "late")
    assert SENT in light.send(0)["says"]
    network.release(light.line)
    network.settle()
    assert [one.status for one in light.line.log if one.method == "POST"] == ["200", "200"]
    assert server.entries == 1


TEN_AT_ONCE = """async () => {
    const { call, letter } = await import('/static/heaps/letters.js');
    const { waiting } = await import('/static/heaps/outbox.js');
    const { said: hello } = await call('GET');
    const one = await letter(hello.person, await waiting(), 1);
    const answers = await Promise.all([...Array(10)].map(() => call('POST', hello.csrf, one)));
    return answers.map(({ status, said }) => [status, said.receipts.map(({ uid, state }) => [uid, state])]);
}"""


def test_the_same_letter_ten_times_at_once_is_taken_once(light: Phone, server: Server) -> None:
    for number in range(1, 11):
        uids = sorted(keep(light, load(server)) for _ in range(5))
        answers = light.tabs[0].evaluate(TEN_AT_ONCE)
        assert {status for status, _receipts in answers} == {200}
        states = [[state for _uid, state in receipts] for _status, receipts in answers]
        assert sorted(states) == [["accepted"] * 5] + [["known"] * 5] * 9
        assert all([uid for uid, _state in receipts] == uids for _status, receipts in answers)
        assert SENT in light.send(0)["says"]
        assert server.entries == 5 * number


def test_a_network_that_doubles_every_request_doubles_no_entry(light: Phone, server: Server) -> None:
    for _ in range(5):
        keep(light, load(server))
        light.line.plan(Fault("double"))
        assert SENT in light.send(0)["says"]
    assert server.entries == 5


def test_a_token_that_is_never_taken_pauses_and_keeps(light: Phone, server: Server) -> None:
    keep(light, load(server))
    light.line.plan(Fault("answer instead", answer="forbidden"), Fault("answer instead", answer="forbidden"))
    seen = light.send(0)
    assert (len(waits(seen)), WAITS in seen["says"]) == (1, True)
    assert [one.method for one in light.line.log[-4:]] == ["GET", "POST", "GET", "POST"]
    assert SENT in light.send(0)["says"]


@pytest.mark.parametrize("answer", ANSWERS)
@pytest.mark.parametrize("taken", ["answer instead", "answer after all"], ids=["not taken", "taken all the same"])
def test_an_answer_of_nobody_s_ends_no_wait(light: Phone, server: Server, answer: str, taken: str) -> None:
    keep(light, load(server))
    light.line.plan(*(Fault(taken, answer=answer),) * 2)
    seen = light.send(0)
    assert (len(waits(seen)), WAITS in seen["says"]) == (1, True)
    light.line.heal()
    assert SENT in light.send(0)["says"]
    assert server.entries == 1


def test_a_server_that_asks_for_time_gets_it(light: Phone, server: Server) -> None:
    keep(light, load(server))
    light.line.plan(Fault("answer instead", answer="too many"))  # in two minutes, it says
    light.send(0, hurry=False)
    asked = len(light.line.log)
    light.context.clock.fast_forward(119_000)
    light.send(0, hurry=False)
    assert len(light.line.log) == asked
    light.context.clock.fast_forward(2_000)
    assert SENT in light.send(0, hurry=False)["says"]


def test_the_pause_grows_to_a_quarter_of_an_hour_and_no_further(light: Phone, server: Server) -> None:
    keep(light, load(server))
    pauses = []
    for _ in range(9):
        light.line.plan(Fault("answer instead", answer="broken"))
        light.send(0)
        waited_s, asked = 0, len(light.line.log)
        while len(light.line.log) == asked:
            waited_s += 15
            light.context.clock.fast_forward(15_000)
            light.line.plan(Fault("answer instead", answer="broken"), on="GET")
            light.send(0, hurry=False)
            light.line.heal()
        pauses.append(waited_s)
    assert pauses[0] <= 60
    assert 450 <= pauses[-1] <= 915


NEVER_OPENS = """async () => {
    const outbox = await import('/static/heaps/outbox.js');
    await outbox.waiting();
    IDBDatabase.prototype.transaction = () => { throw new DOMException('Lost.', 'InvalidStateError'); };
    return outbox.keep([{ uid: 'x', entry: {} }]).then(() => 'kept', (fault) => fault.name);
}"""


def test_a_store_that_stays_closed_is_said_and_never_taken_for_kept(light: Phone) -> None:
    assert light.tabs[0].evaluate(NEVER_OPENS) == "InvalidStateError"


@pytest.mark.parametrize("seconds", [1, 3])
def test_a_locked_database_is_waited_for(light: Phone, server: Server, seconds: int) -> None:
    keep(light, load(server))
    with closing(sqlite3.connect(server.database, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        light.begin(0, "send", True)
        time.sleep(seconds)
        assert light.tabs[0].evaluate("light.busy()") == 1
        other.execute("ROLLBACK")
    assert SENT in light.finish()["says"]
    assert server.entries == 1
