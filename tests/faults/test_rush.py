"""Many phones at one moment, and one letter many times at one moment. Nothing here judges how long it takes."""

import threading
import uuid
from pathlib import Path
from typing import Any

import pytest

from tests.faults.bases import new_base, on_postgresql
from tests.faults.rush import COUNTED_ANEW, ENTRIES, PEOPLE, PHONES, rush
from tests.faults.visitor import Visitor
from tests.serving import GROUND

pytestmark = pytest.mark.ledger

BATCHES, AT_ONCE = 100, 10


def test_fifty_phones_drain_at_the_same_second(tmp_path: Path) -> None:
    base = new_base(tmp_path, GROUND + PEOPLE)
    found = rush(base, tmp_path)
    assert set(found.statuses) == {200}
    assert found.states == {"accepted": PHONES * ENTRIES}
    assert found.rows == PHONES * ENTRIES
    base.prove()
    base.run(COUNTED_ANEW)


def test_one_letter_ten_times_at_once_is_taken_once(tmp_path: Path) -> None:
    """A hundred letters, each ten times in parallel: one row an entry, and what is answered says the same."""
    batches = BATCHES // 5 if on_postgresql() else BATCHES
    base = new_base(tmp_path)
    server = base.server(tmp_path)
    try:
        server.start()
        visitors = [Visitor(server).sign_in() for _ in range(AT_ONCE)]
        site = str(uuid.UUID(str(base.rows("select uid from heaps_site")[0][0])))
        bay = str(uuid.UUID(str(base.rows("select uid from heaps_bay")[0][0])))
        for number in range(batches):
            letter = [_load(site, bay, minute) for minute in range(2)]
            answers = _all_at_once(visitors, letter)
            assert len(answers) == AT_ONCE, f"of letter {number}"
            assert sorted(answers) == [("accepted",) * 2, *[("known",) * 2] * (AT_ONCE - 1)]
    finally:
        server.kill()
    assert base.rows("select count(*), count(distinct uid) from heaps_entry") == [(2 * batches, 2 * batches)]
    base.prove()


def _all_at_once(visitors: list[Visitor], letter: list[dict[str, Any]]) -> list[tuple[str, ...]]:
    answers: list[tuple[str, ...]] = []
    together = threading.Barrier(len(visitors))

    def send(visitor: Visitor) -> None:
        together.wait()
        answer = visitor.send(letter)
        if answer and answer.status == 200:
            answers.append(tuple(answer.states))

    threads = [threading.Thread(target=send, args=(visitor,)) for visitor in visitors]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def _load(site: str, bay: str, minute: int) -> dict[str, Any]:
    return {
        "wire": 1, "uid": str(uuid.uuid4()), "kind": "dropoff", "site": site, "bay": bay,
        "occurred_at": f"2026-05-01T10:{minute:02}:00Z", "by_hand": False, "words": "",
        "details": {"feedstock": "grass-fresh", "half_containers": 2, "container_ml": 10_000},
    }  # fmt: skip
