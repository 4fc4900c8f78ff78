"""The board against a page with nothing on it, and how many questions it asks the database as bays are added."""

import sys
import tempfile
import time
import types
import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.test import Client, override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import include, path
from django.utils import timezone

from cooperative.bench.figures import Figure, compared
from heaps import wire
from heaps.models import Bay, Container, Site
from heaps.sync import Sending, accept
from members.access import role_required
from members.models import Cooperative, Member

SLOWEST = 2.5
BAYS = 30
LOADS = (("peelings", 4), ("leaves-mixed", 6), ("cardboard", 3), ("grass-fresh", 5), ("coffee", 2))


def figures(rounds: int) -> Iterator[Figure]:
    """Measure in this process, so that nothing but the page is timed."""
    with own_database(), override_settings(ROOT_URLCONF=_addresses(), ALLOWED_HOSTS=["testserver"]):
        browser = signed_in_browser()
        asked = {}
        for bays in (1, BAYS, 300):
            fill(bays)
            asked[bays] = questions(browser)
            if bays == BAYS:
                yield in_turns(browser, rounds, f"board of {BAYS} bays", SLOWEST)
                yield in_turns(browser, rounds, f"board of {BAYS} bays, all changed since", None, changed=True)
        counts = ", ".join(f"{count} with {bays} bays" for bays, count in asked.items())
        yield Figure("board: more questions with 300 bays than with 1", asked[300] - asked[1], "", 0, spread=counts)


@role_required("member")
def nothing(request: HttpRequest) -> HttpResponse:
    """The trivial page: the same frame, the same person, nothing in it."""
    return render(request, "base.html")


def _addresses() -> types.ModuleType:
    module = types.ModuleType("bench_addresses")
    module.__dict__["urlpatterns"] = [path("nothing/", nothing), path("", include("cooperative.urls"))]
    return module


@contextmanager
def own_database(beside: Path | None = None) -> Iterator[None]:
    """A database that is thrown away, in a folder of its own. The one of this installation is not touched."""
    before = connection.settings_dict["NAME"]
    with tempfile.TemporaryDirectory(prefix="heaps-bench-", dir=beside) as folder:
        connection.settings_dict["TEST"]["NAME"] = str(Path(folder) / "bench.sqlite3")
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        try:
            yield
        finally:
            connection.close()
            settings.DATABASES["default"]["NAME"] = connection.settings_dict["NAME"] = before


def signed_in_browser() -> Client:
    """A member at the board, in a browser that takes packed answers."""
    Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40)
    browser = Client(headers={"accept-encoding": "gzip"})
    browser.force_login(Member.objects.create_member("ada", "Ada", "leaves and straw"))
    return browser


def fill(bays: int) -> None:
    """So many bays on one site, each with loads of the five usual materials and a reading."""
    site = Site.objects.first() or Site.objects.create(name="Lane Side")
    bucket = site.containers.first() or Container.objects.create(site=site, name="bucket", litres=10)
    person = Member.objects.get(username="ada")
    now = timezone.now()
    raws = []
    for position in range(site.bays.count() + 1, bays + 1):
        bay = Bay.objects.create(
            site=site, name=f"Bay {position}", position=position, length_cm=120, width_cm=120, height_cm=100
        )
        for number, (feedstock, count) in enumerate(LOADS):
            load = {"feedstock": feedstock, "half_containers": count + position % 5, "container_ml": 10_000}
            at = now - timedelta(days=40 - 7 * number, hours=position)
            raws.append(entry("dropoff", bay, at, load | {"container": str(bucket.uid)}))
        raws.append(entry("reading", bay, now - timedelta(days=3), {"temp_tenths_c": 400 + position, "place": "core"}))
    take(raws, person, now)


def take(raws: Sequence[dict[str, Any]], person: Member, now: datetime) -> None:
    """What a phone sends, letter by letter."""
    for first in range(0, len(raws), wire.MOST_ENTRIES):
        sending = Sending(person, uuid.uuid4(), sent_at=now, received_at=now)
        receipts = accept(raws[first : first + wire.MOST_ENTRIES], sending)
        if any(receipt.state != "accepted" for receipt in receipts):
            raise AssertionError(f"Not accepted: {receipts}")


def entry(kind: str, bay: Bay, at: datetime, details: dict[str, Any]) -> dict[str, Any]:
    """As a phone writes it."""
    return {
        "wire": 1, "uid": str(uuid.uuid4()), "kind": kind, "site": str(bay.site.uid), "bay": str(bay.uid),
        "occurred_at": at.isoformat(), "by_hand": False, "details": details, "words": "",
    }  # fmt: skip


def questions(browser: Client) -> int:
    """How many questions one look at the board asks."""
    with CaptureQueriesContext(connection) as asked:
        answer = browser.get("/heaps/")
    if answer.status_code != 200:
        raise AssertionError(f"The board answered {answer.status_code}")
    return len(asked)


def in_turns(browser: Client, rounds: int, name: str, bar: float | None, changed: bool = False) -> Figure:
    """The board and the trivial page, one after the other, so that the machine's moods meet both."""
    times: dict[str, list[float]] = {"/heaps/": [], "/nothing/": []}
    for where in [*times] * 5:  # nothing is measured of the first looks
        browser.get(where)
    for number in range(rounds * 10):  # a look takes milliseconds
        for where in sorted(times, reverse=bool(number % 2)):
            if changed:
                forget_what_is_kept_at_hand()
            began = time.perf_counter()
            browser.get(where)
            times[where].append((time.perf_counter() - began) * 1000)
    return compared(name, times["/heaps/"], times["/nothing/"], bar)


def forget_what_is_kept_at_hand() -> None:
    """As after a load in every bay: nothing of the last look can be used again."""
    for name, module in sys.modules.items():
        if name.startswith("heaps."):
            for one in vars(module).values():
                if hasattr(one, "cache_clear"):
                    one.cache_clear()
