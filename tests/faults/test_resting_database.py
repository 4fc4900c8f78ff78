"""A database that is held, full or read only: whoever asks is told to come back, and nothing is half written."""

import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
import pytest

from tests.faults.bases import Base
from tests.faults.batches import Ground
from tests.faults.visitor import Answer, Visitor
from tests.serving import Server

pytestmark = pytest.mark.ledger


@contextmanager
def held(base: Base, seconds: float = 0) -> Iterator[None]:
    """Somebody else writes, for so many seconds or until the end."""
    over, holds = threading.Event(), threading.Event()

    def hold() -> None:
        if base.is_file:
            connection: sqlite3.Connection | psycopg.Connection = sqlite3.connect(base.file, isolation_level=None)
            connection.execute("begin immediate")
        else:
            connection = psycopg.connect(base.url)
            connection.execute("lock table heaps_ledger, members_cooperative in exclusive mode")
        holds.set()
        over.wait(seconds or 60)
        connection.close()

    holder = threading.Thread(target=hold)
    holder.start()
    holds.wait()
    yield
    over.set()
    holder.join()


def test_a_sending_waits_for_a_database_that_is_held_for_a_moment(served: Base, ada: Visitor) -> None:
    entries, states = Ground(served).batch()
    began = time.monotonic()
    with held(served, seconds=0.7):
        answer = ada.send(entries)
        waited = time.monotonic() - began
    assert answer and answer.states == states
    assert waited >= 0.7


def test_a_sending_comes_back_later_when_the_database_is_held_for_long(served: Base, ada: Visitor) -> None:
    entries, states = Ground(served).batch()
    with held(served):
        answers = in_parallel(ada, entries)
    assert [answer.status for answer in answers] == [503, 503]
    for answer in answers:
        assert int(answer.headers["Retry-After"]) > 0
        assert answer.said == {"reason": "The cooperative's computer cannot write just now."}
    assert served.held(entries) == []
    first, second = sorted(in_parallel(ada, entries), key=lambda one: one.states)
    assert first.states == states
    assert second.states == ["known" if one == "accepted" else one for one in states]
    served.prove()


def in_parallel(ada: Visitor, entries: list[dict[str, object]]) -> list[Answer]:
    """The same batch sent twice at the same moment."""
    found: list[Answer | None] = []
    both = [threading.Thread(target=lambda: found.append(ada.send(entries))) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert all(found)
    return [one for one in found if one]


def test_a_form_comes_back_filled_in_and_goes_with_one_tap(served: Base, real_server: Server) -> None:
    cleo = coordinator(served, real_server)
    name = 'Two "Lanes" <b>& Growers'
    with held(served):
        answer = cleo.post_form("/set-up/cooperative/", name=name, year_starts_in_month="1", bag_litres="40",
                                keep_names_months="24")  # fmt: skip
    assert answer.status == 503
    assert int(answer.headers["Retry-After"]) > 0
    assert "no-store" in answer.headers["Cache-Control"]
    assert "cannot write just now" in answer.text
    assert "&lt;b&gt;&amp; Growers</textarea>" in answer.text
    assert served.rows("select name from members_cooperative") == [("Two Lanes Growers",)]


def test_a_page_and_a_sign_in_are_asked_to_come_back_and_no_password_is_shown(
    served: Base, real_server: Server
) -> None:
    visitor = Visitor(real_server)
    visitor.fetch("/sign-in/")
    with held(served):
        answer = visitor.post_form("/sign-in/", username="ada", password="leaves and straw")
    assert answer.status == (503 if served.is_file else 200)  # on PostgreSQL nobody holds what a sign-in writes
    assert "leaves and straw" not in answer.text
    assert "<form" not in answer.text or not served.is_file


def coordinator(served: Base, server: Server) -> Visitor:
    served.run(
        "import django; django.setup()\n"
        "from members.models import Member\n"
        "Member.objects.filter(username='cleo').update(is_administrator=True)"
    )
    return Visitor(server).sign_in("cleo")
