"""A server's disk is full or read only: nothing is receipted or half written, and it goes on by itself."""

import os
import shutil
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import psycopg
import pytest

from tests.faults.bases import Base, copy_of
from tests.faults.batches import Ground
from tests.faults.disks import Disk, mount, processes_of, small_disk
from tests.faults.visitor import Visitor
from tests.serving import Server


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Disk]:
    with small_disk(tmp_path / "disk") as disk:
        yield disk


@pytest.fixture
def on_disk(ground: Base, disk: Disk, tmp_path: Path) -> Iterator[tuple[Base, Server, Visitor]]:
    """A server whose database lies there, and somebody signed in."""
    base = copy_of(ground, disk.folder)
    server = base.server(tmp_path)
    try:
        server.start()
        yield base, server, Visitor(server).sign_in()
    finally:
        server.kill()


@pytest.mark.sqlite
def test_a_disk_that_is_full_at_any_page_of_a_sending_leaves_all_or_nothing(
    on_disk: tuple[Base, Server, Visitor], disk: Disk
) -> None:
    base, server, ada = on_disk
    assert server.process
    workers = processes_of(server.process.pid)
    entries, _states = Ground(base).batch()
    refused = 0
    for pages in count(0):
        disk.leave(pages, *workers)
        answer = ada.send(entries)
        assert answer
        if answer.status == 200:
            break
        refused += 1
        assert answer.status == 503, answer.text
        assert int(answer.headers["Retry-After"]) > 0
        assert base.rows("select count(*) from heaps_entry") == [(0,)]
        assert base.rows("select count(*) from heaps_parked") == [(0,)]
    assert refused > 1
    disk.make_room(*workers)
    again = ada.send(entries)
    assert again and again.status == 200
    assert {*again.states} == {"known", "parked", "refused"}
    assert base.rows("select count(*) from heaps_entry") == [(5,)]
    base.prove()


@pytest.mark.sqlite
def test_a_disk_that_may_only_be_read_takes_nothing_and_all_again_when_it_may_be_written(
    ground: Base, disk: Disk, tmp_path: Path
) -> None:
    base = copy_of(ground, disk.folder)
    server = base.server(tmp_path)
    server.start()
    ada = Visitor(server).sign_in()
    server.kill()  # nobody may have a file open to write when a disk becomes read only
    entries, states = Ground(base).batch()
    read_only = mount("-o", "remount,ro", str(disk.folder)) if type(disk) is Disk else False
    try:
        server.start()
        assert server.process
        workers = processes_of(server.process.pid)
        if not read_only:
            disk.leave(-10_000, *workers)
        answers = [ada.send(entries) for _ in range(5)]
        assert [answer and answer.status for answer in answers] == [503] * 5
        assert ada.fetch("/heaps/").status == 200
        if read_only:
            assert mount("-o", "remount,rw", str(disk.folder))
        disk.make_room(*workers)
        assert taken_at_last(ada, entries) == states
    finally:
        server.kill()
    base.prove()


@pytest.mark.ledger
@pytest.mark.postgresql
def test_postgresql_that_may_only_be_read(base: Base, tmp_path: Path) -> None:
    server = base.server(tmp_path)
    try:
        server.start()
        takes_nothing_while_it_may_not(base, Visitor(server).sign_in())
    finally:
        server.kill()
    base.prove()


def takes_nothing_while_it_may_not(base: Base, ada: Visitor) -> None:
    name = base.url.rpartition("/")[2]
    entries, states = Ground(base).batch()
    set_for(name, "set default_transaction_read_only = on")
    answers = [ada.send(entries) for _ in range(3)]
    assert [answer and answer.status for answer in answers] == [503] * 3
    set_for(name, "reset default_transaction_read_only")
    answer = ada.send(entries)
    assert answer and answer.states == states


@pytest.mark.ledger
@pytest.mark.postgresql
def test_postgresql_with_a_full_disk(ground: Base, tmp_path: Path) -> None:
    if os.geteuid():
        pytest.skip("only for whoever may mount a disk")
    home = Path("/tmp") / f"heaps-disk-{os.getpid()}"
    with small_disk(home, 20, owner="postgres") as disk:
        tell(f"create tablespace small_disk location '{home}'")
        base = copy_of(ground, tmp_path, "tablespace small_disk")
        server = base.server(tmp_path)
        try:
            server.start()
            ada, place = Visitor(server).sign_in(), Ground(base)
            disk.leave(0)
            counts = []
            for _ in range(60):
                answer = ada.send([place.coffee(one / 60) for one in range(50)])
                assert answer
                counts.append(answer.status)
                if answer.status != 200:
                    break
            assert counts[-1] == 503
            assert base.rows("select count(*) from heaps_entry") == [(50 * (len(counts) - 1),)]
            disk.make_room()
            entries, states = place.batch()
            assert taken_at_last(ada, entries) == states
        finally:
            server.kill()
        base.prove()
        tell(f"drop database {base.url.rpartition('/')[2]}")
        tell("drop tablespace small_disk")
    shutil.rmtree(home)


def taken_at_last(ada: Visitor, entries: list[dict[str, Any]]) -> list[str]:
    """What became of each. Each of the server's four threads may find out at its first try only that all is well."""
    answers = [ada.send(entries) for _ in range(5)]
    return next(one.states for one in answers if one and one.status == 200)


def set_for(name: str, setting: str) -> None:
    """Change a setting of one database, and end who is connected to it: what they had still holds for them."""
    tell(f"alter database {name} {setting}")
    tell(f"select pg_terminate_backend(pid) from pg_stat_activity where datname = '{name}'")


def tell(command: str) -> None:
    with psycopg.connect(os.environ["DATABASE_URL"], autocommit=True) as cluster:
        cluster.execute(command)
