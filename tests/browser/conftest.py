"""A real Chromium against a real gunicorn. Both run on from test to test; what they know does not."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, Playwright, expect, sync_playwright

from tests import chromium
from tests.browser.light import sign_in
from tests.browser.steps import open_recording
from tests.faults.phones import Phone
from tests.faults.proxy import Network
from tests.serving import GROUND, Server, free_port, make_database

expect.set_options(timeout=chromium.PATIENCE_MS)


@pytest.fixture(scope="session")
def ground_file(hashed_assets: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with a cooperative, two bays, a leaf bin and three people, to begin each test with."""
    return make_database(tmp_path_factory.mktemp("ground") / "ground.sqlite3", GROUND)


@pytest.fixture(scope="session")
def one_server(hashed_assets: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The server that all tests share."""
    serving = Server(tmp_path_factory.mktemp("server") / "heaps.sqlite3", free_port())
    serving.odd.mkdir()
    yield serving
    serving.kill()


@pytest.fixture
def server(one_server: Server, ground_file: Path) -> Server:
    """The server, as if it had been set up just now."""
    one_server.begin_anew(ground_file)
    return one_server


@pytest.fixture(scope="session")
def player(django_db_setup: None) -> Iterator[Playwright]:
    """Playwright, whose loop keeps Django from its database: one that is needed beside a browser is made before."""
    with sync_playwright() as playing:
        yield playing


@pytest.fixture(scope="session")
def browser(player: Playwright) -> Iterator[Browser]:
    browser = chromium.launch(player, chromium.shell())
    yield browser
    browser.close()


@pytest.fixture
def phone(browser: Browser, request: pytest.FixtureRequest) -> Iterator[BrowserContext]:
    """A phone that has never seen the page."""
    phone = chromium.new_phone(browser, worker=not request.node.get_closest_marker("bare"))
    yield phone
    phone.close()


@pytest.fixture
def page(phone: BrowserContext, server: Server) -> Page:
    """The recording page on it, opened for the first time."""
    page = phone.new_page()
    open_recording(page, server)
    return page


SwitchOn = Callable[..., BrowserContext]


@pytest.fixture
def memory(tmp_path: Path) -> Path:
    """The folder in which the phone of this test keeps everything."""
    return tmp_path / "phone"


@pytest.fixture
def switch_on(player: Playwright, memory: Path) -> Iterator[SwitchOn]:
    """Starts a browser on this test's phone; called again after an end or a kill, it finds what the phone kept."""
    open_now: list[BrowserContext] = []

    def start(**more: Any) -> BrowserContext:
        open_now.append(chromium.phone_on(player, memory, **more))
        return open_now[-1]

    yield start
    for context in open_now:
        with suppress(Error):  # it may have been killed
            context.close()


NewLight = Callable[..., Phone]


@pytest.fixture(scope="session")
def network(one_server: Server) -> Iterator[Network]:
    """A network that fails as told, with a line to the server for each of three light phones."""
    with Network(one_server.port, 3) as network:
        yield network


@pytest.fixture
def new_light(network: Network, browser: Browser, server: Server) -> Iterator[NewLight]:
    """Makes a light phone (tests/faults/phones.py), on which somebody is signed in."""
    made: list[Phone] = []

    def new_light(username: str = "ada", tabs: int = 1, **more: Any) -> Phone:
        light = Phone.new(browser, network, len(made), tabs, **more)
        made.append(light)
        light.begin_anew()
        sign_in(light, server, username)
        return light

    yield new_light
    for light in made:
        light.line.heal()
        network.release(light.line)
        light.close()


@pytest.fixture
def light(new_light: NewLight) -> Phone:
    """Ada's light phone."""
    return new_light()
