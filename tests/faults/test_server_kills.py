"""A server killed at every statement of a sending, and at every commit: all of a batch or nothing, and once."""

import sys
from itertools import count

import pytest

from tests.faults.bases import Base
from tests.faults.batches import Ground
from tests.faults.visitor import Visitor
from tests.points import AFTER_COMMIT
from tests.serving import DIE_AT_POINT, POINTS_PASSED, Server

pytestmark = pytest.mark.ledger


def test_killed_at_every_statement_a_batch_is_there_whole_or_not_at_all_and_once(
    served: Base, real_server: Server, ada: Visitor, capsys: pytest.CaptureFixture[str]
) -> None:
    ground = Ground(served)
    ada.send([ground.coffee(20)])  # what comes with a first entry only does not come in the middle of the rest
    came_through = {True: 0, False: 0}
    for point in count(1):
        entries, states = ground.batch()
        (real_server.odd / DIE_AT_POINT).write_text(str(point))
        answer = ada.send(entries)
        if answer:
            break
        (real_server.odd / DIE_AT_POINT).unlink()
        stored = served.held(entries)
        assert stored in ([], sorted(one["uid"] for one in entries[:6])), f"a part of a batch after point {point}"
        came_through[bool(stored)] += 1
        again = ada.send(entries)
        assert again and again.status == 200
        assert again.states == (known(states) if stored else states), f"after point {point}"
        assert served.held(entries) == sorted(one["uid"] for one in entries[:6])
    (real_server.odd / DIE_AT_POINT).unlink()
    assert answer.states == states
    passed = (real_server.odd / POINTS_PASSED).read_text().splitlines()
    with capsys.disabled():
        sys.stdout.write(
            f"\nkilled at {point - 1} points of {len(passed)}: {came_through[False]} before the commit, "
            f"{came_through[True]} after it\n"
        )
    assert point - 1 == len(passed)
    assert came_through[True] >= 1
    assert [one for one in passed if one.startswith('INSERT INTO "heaps_entry"')]
    assert AFTER_COMMIT in passed
    served.prove()


def known(states: list[str]) -> list[str]:
    """What is said of a batch that is there already."""
    return ["known" if one == "accepted" else one for one in states]
