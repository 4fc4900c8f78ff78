"""Between what a sending writes and its receipt, the database tells the disk to keep it: seen by strace."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import postgres
from tests.faults.bases import Base
from tests.faults.batches import Ground
from tests.faults.traces import CALLS, STRACE, between, reached_the_disk
from tests.faults.visitor import Visitor
from tests.serving import GROUND

SENDINGS = 10


def ten_receipts(base: Base, folder: Path, under: list[str]) -> None:
    """Ten sendings, each of which writes."""
    server = base.server(folder)
    server.under = under
    try:
        server.start()
        ada, ground = Visitor(server).sign_in(), Ground(base)
        for _ in range(SENDINGS):
            answer = ada.send([ground.coffee()])
            assert answer and answer.states == ["accepted"]
    finally:
        server.kill()


@pytest.mark.sqlite
def test_on_sqlite_each_receipt_comes_after_a_sync(base: Base, tmp_path: Path) -> None:
    log = tmp_path / "trace"
    ten_receipts(base, tmp_path, [*STRACE, CALLS, "-o", str(log)])
    seen = list(between(log, "POST /sync/", "HTTP/1.1 200"))
    assert len(seen) == SENDINGS
    assert all(reached_the_disk(one) for one in seen)


@pytest.fixture
def traced_cluster(hashed_assets: None, tmp_path: Path) -> Iterator[tuple[Base, Path]]:
    """A PostgreSQL as a host has it: what it commits is on the disk. And what strace writes of it."""
    with postgres.private_cluster(durable=True, under=[*STRACE, CALLS]) as url:
        base = Base(url)
        base.run(GROUND)
        assert base.rows("show fsync") == base.rows("show synchronous_commit") == [("on",)]
        yield base, postgres.home_of(url) / "trace"


def test_on_postgresql_each_receipt_comes_after_a_sync(traced_cluster: tuple[Base, Path], tmp_path: Path) -> None:
    base, log = traced_cluster
    before = sum(map(reached_the_disk, between(log, "COMMIT", "COMMIT")))
    ten_receipts(base, tmp_path, [])
    time.sleep(0.3)
    seen = [one for one in between(log, "COMMIT", "COMMIT") if any(call.name == "pwrite64" for call in one)]
    assert len(seen) - before >= SENDINGS
    assert all(reached_the_disk(one) for one in seen)
