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


@pytest.fixture(scope="module")
def served(ground: Base, tmp_path_factory: pytest.TempPathFactory) -> Base:
    """A copy of it for the tests of a module, which a server serves."""
    return copy_of(ground, tmp_path_factory.mktemp("served"))


@pytest.fixture(scope="module")
def real_server(served: Base, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The gunicorn that serves it. It gives up waiting for a lock after a second and a half."""
    server = served.server(tmp_path_factory.mktemp("asked"), HEAPS_PATIENCE_S="1.5")
    try:
        server.start()
        yield server
    finally:
        server.kill()


@pytest.fixture(scope="module")
def ada(real_server: Server) -> Visitor:
    """Somebody signed in there."""
    return Visitor(real_server).sign_in()
