"""The cast: one cooperative, one site, and the people who use it."""

import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from itertools import filterfalse
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone
from hypothesis import HealthCheck
from hypothesis import settings as trying
from xdist.scheduler import LoadScopeScheduling
from xdist.workermanage import WorkerController

from cooperative.collecting import collect_static
from heaps.models import Bay, Container, Site, Stewardship
from heaps.sync import Receipt, Sending, accept
from members.access import PROVED_KEY
from members.models import Cooperative, Member

PASSWORD = "leaves and straw"

# A machine that others use, too, is slow now and then. That is no fault of what is tried.
trying.register_profile(
    "shared machine",
    trying(),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, *trying().suppress_health_check],
)
trying.load_profile("shared machine")


class BrowsersApart(LoadScopeScheduling):
    """Files of tests are shared out one by one. What needs a browser goes to one process from the start, to a second
    when the rest is done: three at once are too slow for a small machine. Where Playwright's loop runs in the thread
    Django touches no database, so who had a browser gets nothing else. (Groups by mark go unread under pytest 9.2.)"""

    AT_ONCE = 2
    #: Begun last, one of these would run on alone. Of all others those with most tests come first.
    LONG = ("tests/browser/test_schedules.py", "tests/browser/test_whole_phones.py", "tests/faults/test_fuzz.py")

    def _split_scope(self, nodeid: str) -> str:
        return nodeid.split("::")[0]

    def _assign_work_unit(self, node: WorkerController) -> None:
        if file := self._next_for(node):
            self.workqueue.move_to_end(file, last=False)
            super()._assign_work_unit(node)
        elif not node.shutting_down:
            node.shutdown()  # when it is through with what it has

    def _next_for(self, node: WorkerController) -> str | None:
        waiting = sorted(self.workqueue, key=lambda file: file not in self.LONG)
        busy = [one for one, files in self.assigned_work.items() if any(map(_needs_a_browser, files))]
        browser = next(filter(_needs_a_browser, waiting), None)
        if node in busy or (browser and not busy):
            return browser
        rest = next(filterfalse(_needs_a_browser, waiting), None)
        return rest or (browser if len(busy) < self.AT_ONCE else None)


def _needs_a_browser(file: str) -> bool:
    return file.startswith("tests/browser/")


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> BrowsersApart:
    return BrowsersApart(config, log)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """What is about the other database is left out: it runs in the other part of `manage.py test`."""
    other = "postgresql" if connection.vendor == "sqlite" else "sqlite"
    config.hook.pytest_deselected(items=[one for one in items if one.get_closest_marker(other)])
    items[:] = [one for one in items if not one.get_closest_marker(other)]


@pytest.fixture(scope="session", autouse=True)
def hashed_assets() -> None:
    """The hashed files that pages link to, made once."""
    collect_static()


@pytest.fixture
def cooperative(db: None) -> Cooperative:
    return Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40)


@pytest.fixture
def site(cooperative: Cooperative) -> Site:
    """Two bays of 1,000 litres and a leaf bin, a bucket of 10 litres and a barrow of 80."""
    site = Site.objects.create(name="Lane Side")
    for position, (name, kind) in enumerate([("Bay 1", "open"), ("Bay 2", "open"), ("Leaf bin", "leaf")], 1):
        Bay.objects.create(
            site=site, name=name, position=position, kind=kind, length_cm=100, width_cm=100, height_cm=100
        )
    Container.objects.create(site=site, name="bucket", litres=10)
    Container.objects.create(site=site, name="barrow", litres=80)
    return site


@pytest.fixture
def bay(site: Site) -> Bay:
    return site.bays.get(name="Bay 1")


@pytest.fixture
def second_bay(site: Site) -> Bay:
    return site.bays.get(name="Bay 2")


@pytest.fixture
def bucket(site: Site) -> Container:
    return site.containers.get(name="bucket")


@pytest.fixture
def member(cooperative: Cooperative) -> Member:
    return Member.objects.create_member("ada", "Ada", PASSWORD)


@pytest.fixture
def other_member(cooperative: Cooperative) -> Member:
    return Member.objects.create_member("bela", "Bela", PASSWORD)


@pytest.fixture
def coordinator(cooperative: Cooperative) -> Member:
    return Member.objects.create_member("cleo", "Cleo", PASSWORD, is_coordinator=True)


@pytest.fixture
def treasurer(cooperative: Cooperative) -> Member:
    return Member.objects.create_member("dov", "Dov", PASSWORD, is_treasurer=True)


@pytest.fixture
def administrator(cooperative: Cooperative) -> Member:
    return Member.objects.create_member("edda", "Edda", PASSWORD, is_administrator=True)


@pytest.fixture
def former_member(cooperative: Cooperative) -> Member:
    """Somebody whose account is closed."""
    return Member.objects.create_member("finn", "Finn", PASSWORD, is_active=False)


@pytest.fixture
def other_site(site: Site) -> Site:
    """Another site, with one bay and one container."""
    other = Site.objects.create(name="Far Field")
    Bay.objects.create(site=other, name="Bay 1", position=1, length_cm=100, width_cm=100, height_cm=100)
    Container.objects.create(site=other, name="bucket", litres=10)
    return other


@pytest.fixture
def steward(site: Site) -> Member:
    """Coordinator of the one site, of no other."""
    gwen = Member.objects.create_member("gwen", "Gwen", PASSWORD)
    Stewardship.objects.create(site=site, member=gwen)
    return gwen


@pytest.fixture
def client_of(db: None) -> Callable[..., Client]:
    """A browser in which somebody, or nobody, is signed in. They have just shown a passkey, unless `proof` is false."""

    def client_of(person: Member | None, proof: bool = True) -> Client:
        client = Client()
        if person is not None:
            client.force_login(person)
            if proof:
                prove(client)
        return client

    return client_of


def prove(client: Client, by: str = "passkey", ago: int = 0) -> None:
    """Somebody showed who they are, `ago` seconds ago, and in no other way."""
    session = client.session
    session[PROVED_KEY] = {by: int(timezone.now().timestamp()) - ago}
    session.save()


@pytest.fixture
def at() -> Callable[..., datetime]:
    """A moment of the test year: `at(month, day, hour, minute)`, UTC."""

    def at(month: int, day: int, hour: int = 10, minute: int = 0) -> datetime:
        return datetime(2026, month, day, hour, minute, tzinfo=UTC)

    return at


Keep = Callable[..., Receipt]


@pytest.fixture
def keep(site: Site, coordinator: Member) -> Iterator[Keep]:
    """Put one entry through the ledger's door: `keep("dropoff", bay, moment, feedstock=..., ...)`.

    It arrives at once unless `arrives` is given. A refused or parked entry fails the test unless `wants` says so.
    """

    def keep(kind: str, bay: Bay | None, moment: datetime, /, **details: Any) -> Receipt:
        asked = {name: details.pop(name, None) for name in ("by", "arrives", "wants", "uid", "words", "by_hand")}
        arrives = asked["arrives"] or moment
        raw = {
            "wire": 1,
            "uid": asked["uid"] or str(uuid.uuid4()),
            "kind": kind,
            "site": str(bay.site.uid if bay else site.uid),
            "bay": str(bay.uid) if bay else None,
            "occurred_at": moment.isoformat(),
            "by_hand": bool(asked["by_hand"]),
            "details": details,
            "words": asked["words"] or "",
        }
        sending = Sending(asked["by"] or coordinator, uuid.uuid4(), sent_at=arrives, received_at=arrives)
        (receipt,) = accept([raw], sending)
        assert receipt.state == (asked["wants"] or "accepted"), receipt
        return receipt

    yield keep


@pytest.fixture
def others(client_of, other_member, other_site: Site, former_member) -> dict[str, Client]:
    """Browsers of people who may do none of it."""
    hugo = Member.objects.create_member("hugo", "Hugo", "leaves and straw")
    Stewardship.objects.create(site=other_site, member=hugo)
    Member.objects.filter(pk=former_member.pk).update(is_active=True)
    former_member.refresh_from_db()
    browsers = {
        "nobody": client_of(None),
        "a member": client_of(other_member),
        "the coordinator of another site": client_of(hugo),
        "somebody whose account was closed": client_of(former_member),
    }
    Member.objects.filter(pk=former_member.pk).update(is_active=False)
    return browsers
