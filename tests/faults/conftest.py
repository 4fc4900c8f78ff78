"""A real server on a database of its own, and somebody signed in."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.bases import Base, copy_of, new_base
from tests.faults.visitor import Visitor
from tests.serving import Server


@pytest.fixture(scope="session")
def ground(hashed_assets: None, tmp_path_factory: pytest.TempPathFactory) -> Base:
    """A cooperative's database on the engine that these tests run on. Nobody writes there."""
    return new_base(tmp_path_factory.mktemp("ground"))


@pytest.fixture
def base(ground: Base, tmp_path: Path) -> Base:
    """A copy of it for one test."""
    return copy_of(ground, tmp_path)


@pytest.fixture
def real_server(base: Base, tmp_path: Path) -> Iterator[Server]:
    """A gunicorn that serves it, and gives up waiting for a lock after a second and a half."""
    server = base.server(tmp_path, HEAPS_PATIENCE_S="1.5")
    try:
        server.start()
        yield server
    finally:
        server.kill()


@pytest.fixture
def ada(real_server: Server) -> Visitor:
    """Somebody signed in there."""
    return Visitor(real_server).sign_in()
