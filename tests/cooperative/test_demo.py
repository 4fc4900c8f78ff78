"""The demo: a season through the ledger's own door, kept at a second start, and never into a real database."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import Client
from django.urls import reverse

from cooperative.demo import PASSWORD, PEOPLE, fill, season
from heaps import history
from heaps.board import sites_now
from heaps.ledger import Stage, stage
from heaps.models import Bay, BeanTest, Entry, Parked, Question, Site
from members.models import Member
from tests.conftest import prove

NOW = datetime(2026, 11, 26, 15, tzinfo=UTC)


@pytest.fixture(scope="module")
def filled(django_db_setup: None, django_db_blocker: Any) -> Iterator[Site]:
    """The demo's cooperative. Filled once for all these tests, which only look at it."""
    with django_db_blocker.unblock(), transaction.atomic():
        assert fill(NOW)
        yield Site.objects.get()
        transaction.set_rollback(True)


@pytest.mark.django_db
def test_a_season_to_look_at(filled: Site) -> None:
    kinds = Counter(Entry.objects.values_list("kind", flat=True))
    assert kinds["dropoff"] > 200 and kinds["reading"] > 100 and kinds["turn"] == 8 and kinds["opening"] == 2
    assert NOW - Entry.objects.earliest("effective_at").effective_at > timedelta(weeks=38)
    states = history.current_states([filled.pk])
    stages = {bay.name: stage(states[str(bay.uid)], NOW) for bay in filled.bays.all()}
    assert set(stages.values()) == {Stage.FILLING, Stage.WORKING, Stage.MATURING, Stage.READY, Stage.EMPTY}
    ready = states[str(filled.bays.get(name="Bay 3").uid)].batch
    assert ready and {one.bay for one in ready.ancestors.values()} >= {
        str(bay.uid) for bay in Bay.objects.filter(name__in=("Bay 1", "Bay 2"))
    }
    assert history.drift(filled) == []


@pytest.mark.django_db
def test_some_loads_are_given_and_a_bean_test_grows(filled: Site) -> None:
    given = Counter(Entry.objects.filter(kind="dropoff").values_list("donor__kind", flat=True))
    assert given[None] > 50 and all(given[kind] > 2 for kind in ("cafe", "stable", "trees", "households"))
    (test,) = BeanTest.objects.all()
    assert not test.result and test.entry.donor and test.entry.donor.kind == "stable"


@pytest.mark.django_db
def test_the_bay_being_fed_needs_browns_by_the_container(filled: Site) -> None:
    (site,) = sites_now(NOW)
    assert next(row.need for row in site.bays if row.bay.name == "Bay 1").startswith("Browns: roughly ")


@pytest.mark.django_db
def test_the_tray_has_something_in_it(filled: Site) -> None:
    assert Counter(Question.objects.filter(settled_at=None).values_list("why", flat=True)) == {"twice": 1, "date": 1}
    assert Parked.objects.count() == 1
    remarks = [one.code for state in history.current_states([filled.pk]).values() for one in state.remarks]
    assert sorted(remarks) == ["into a closed bay", "turn of an empty bay"]


@pytest.mark.django_db
def test_phones_send_later_and_by_wrong_clocks_and_yet_the_time_is_right(filled: Site) -> None:
    told = {one.uid: one.at for one in season.told(NOW)}
    rows = Entry.objects.all()
    assert all(abs(row.effective_at - told[str(row.uid)]) < timedelta(seconds=1) for row in rows)
    assert len({row.device for row in rows}) == len(PEOPLE)
    assert any(row.occurred_at != row.effective_at for row in rows)
    assert any(row.received_at - row.effective_at > timedelta(days=2) for row in rows)
    assert all(row.received_at <= NOW for row in rows)


@pytest.mark.django_db
def test_a_second_fill_keeps_what_is_there(filled: Site) -> None:
    before = Entry.objects.count(), Question.objects.count(), Parked.objects.count(), Member.objects.count()
    assert fill(NOW + timedelta(days=30)) is False
    after = Entry.objects.count(), Question.objects.count(), Parked.objects.count(), Member.objects.count()
    assert after == before


@pytest.mark.parametrize("weekday", range(7))
def test_any_day_of_the_week_will_do(weekday: int) -> None:
    told = season.told(datetime(2026, 3, 2 + weekday, 9, tzinfo=UTC))
    assert len(told) > 400
    assert all(one.at <= datetime(2026, 3, 2 + weekday, 9, tzinfo=UTC) for one in told)


@pytest.mark.django_db
def test_the_pages_show_it(filled: Site) -> None:
    tansy = Client()
    tansy.force_login(Member.objects.get(username="tansy"))
    prove(tansy)
    heaps = [reverse("heaps:heap", args=[bay.uid]) for bay in filled.bays.all()]
    pages = [reverse(f"heaps:{name}") for name in ("home", "drop_off", "board", "collect", "guide", "tray", "set_up")]
    year = [reverse(f"heaps:{name}", args=[NOW.year]) for name in ("year", "year_csv")]
    for address in (*heaps, *pages, *year):
        assert tansy.get(address).status_code == 200, address
    board = tansy.get(reverse("heaps:board")).content.decode()
    assert all(bay.name in board for bay in filled.bays.all())


def test_it_refuses_any_database_but_its_own() -> None:
    """No database may be used in this test, so it also fails if one is only looked at."""
    with pytest.raises(CommandError, match="database of its own"):
        call_command("demo", "--fill-only")


def start(var: Path, *options: str) -> subprocess.Popen[str]:
    env = {name: value for name, value in os.environ.items() if name not in ("HEAPS_MODE", "DATABASE_URL")}
    return subprocess.Popen(
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "demo", *options],
        env={**env, "HEAPS_VAR": str(var)}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
        return port


def status_of(address: str) -> int:
    for _ in range(100):
        try:
            with urllib.request.urlopen(address) as answer:
                return int(answer.status)
        except OSError:
            time.sleep(0.1)
    raise AssertionError(f"nothing answers at {address}")


def test_from_the_command_to_a_page_and_back(tmp_path: Path) -> None:
    port = free_port()
    assert "was put in" in start(tmp_path, "--fill-only").communicate(timeout=120)[0]
    demo = start(tmp_path, "--port", str(port))
    try:
        assert status_of(f"http://127.0.0.1:{port}{reverse('members:sign_in')}") == 200
        busy = start(tmp_path, "--port", str(port))
        assert f"Something else uses port {port}" in busy.communicate(timeout=30)[1]
        demo.send_signal(signal.SIGINT)  # Ctrl-C
        said, complaints = demo.communicate(timeout=20)
    finally:
        demo.kill()
    assert demo.returncode == 0 and "Traceback" not in complaints
    assert "Kept as it was" in said and PASSWORD in said
    assert all(person.username in said for person in PEOPLE)
    assert (tmp_path / "demo" / "heaps.sqlite3").exists()
