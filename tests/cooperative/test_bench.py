"""The measurements run, in a short form. What they say of times is for `manage.py bench pages` on a quiet machine."""

import json
import subprocess
import sys
from contextlib import nullcontext
from typing import Any

import pytest
from django.conf import settings
from django.db import connection

from cooperative.bench import living, night, sending
from cooperative.bench.figures import Figure, p95
from heaps.science.living import outlook

#: What does not hang on how busy the machine is.
NO_TIMES = (
    "board: more questions with 300 bays than with 1",
    "recording page: first visit",
    "recording page: JavaScript of it",
    "recording page, offline, CPU 4x slower: CLS",
)
TIMES = (
    "board of 30 bays",
    "board of 30 bays, all changed since",
    "recording page: cold start with the server gone",
    "recording page, offline, CPU 4x slower: LCP of a cold start",
    "recording page, offline, CPU 4x slower: INP of choose, step, keep",
)


@pytest.mark.browser
def test_the_measurements_of_pages_run_and_what_is_no_time_holds() -> None:
    command = [sys.executable, "manage.py", "bench", "pages", "--short", "--json"]
    done = subprocess.run(command, cwd=settings.BASE_DIR, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    figures: dict[str, dict[str, Any]] = {one["name"]: one for one in json.loads(done.stdout)}
    assert set(figures) == {*NO_TIMES, *TIMES}
    assert [figures[name] for name in NO_TIMES if not figures[name]["holds"]] == []
    assert [figures[name] for name in TIMES if not figures[name]["value"] > 0] == []


def test_one_in_twenty_may_be_slower() -> None:
    assert p95([float(value) for value in range(20, 0, -1)]) == 19


@pytest.mark.parametrize(("value", "baseline", "holds"), [(0.5, None, True), (2.5, None, False), (5, 2, False)])
def test_a_bar_is_for_the_ratio_where_there_is_one(value: float, baseline: float | None, holds: bool) -> None:
    assert Figure("", value, "", bar=2, baseline=baseline).holds is holds


def test_the_measurements_of_forecasts_run(monkeypatch: pytest.MonkeyPatch, db: None) -> None:
    for name, small in (("DAYS", 20), ("BLOCK", 2), ("FEW", 1), ("WAYS", (("RK45", 1e-5),)), ("NIGHT", 2)):
        monkeypatch.setattr(living, name, small)
    monkeypatch.setattr(night, "own_database", nullcontext)  # this test has one
    monkeypatch.setattr(night, "BAYS_OF_A_SITE", 1)
    monkeypatch.setattr(night, "WEEKS", 3)
    monkeypatch.setattr(outlook, "AHEAD_DAYS", 20)
    near, alone, member, block, all_night = living.figures(1)
    assert 0 < near.value < 0.5  # its bar is for 400 days; these 20 are the hottest
    assert alone.bar == living.SLOWEST_ALONE and block.bar is None
    assert "scaled to 200" in member.spread
    assert min(one.value for one in (alone, member, block, all_night)) > 0
    assert "a night of 2 heaps" in all_night.name


@pytest.mark.skipif(connection.vendor != "sqlite", reason="its baseline is SQLite's own statement")
@pytest.mark.django_db(transaction=True)
def test_the_measurements_of_what_phones_send_run(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, small in (("YOUNG", 60), ("LETTER", 4), ("OF_RAW", {4: 0.2, 6: 0.35})):
        monkeypatch.setattr(sending, name, small)
    monkeypatch.setattr(sending, "own_database", lambda _beside: nullcontext())  # this test has one
    monkeypatch.setattr(sending, "_grown", lambda rounds, entries: iter(()))  # the same letters in two more
    machine, raw, obvious, at_once, known, at_500, late, *no_disk = sending.figures(1, 0)
    assert "SQLite" in machine.name
    assert (raw.bar, raw.at_least) == (0.2, True) and (at_500.bar, at_500.at_least) == (0.35, True)
    assert (obvious.bar, obvious.at_least, known.bar) == (sending.OVER_OBVIOUS, True, sending.KNOWN)
    assert at_once.bar is late.bar is None and len(no_disk) == 2
    assert min(one.value for one in (raw, obvious, at_once, known, at_500, late, *no_disk)) > 0
