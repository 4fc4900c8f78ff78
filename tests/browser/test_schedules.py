"""Seeded schedules on light phones, as `manage.py faults` plays them: on SQLite, and a share of them on PostgreSQL."""

import json
import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.db import connection

from tests.faults.schedules import HAPPENS, LEAST, TABS, schedule

pytestmark = pytest.mark.browser

#: On each database: the first seeds, which are enough to notice what is badly broken, and the rest. 300 in all.
SEEDS = {
    "sqlite": {"first": range(1, 21), "rest": range(21, 181)},
    "postgresql": {"first": range(1001, 1021), "rest": range(1021, 1121)},
}


@pytest.mark.ledger
@pytest.mark.parametrize("part", ["first", "rest"])
def test_no_schedule_loses_doubles_or_leaves_anything(part: str) -> None:
    seeds = SEEDS[connection.vendor][part]
    asked = ["--seed", str(seeds[0]), "--schedules", str(len(seeds)), "--database", connection.vendor]
    asked += ["--json", "--until-one-fails"]
    done = subprocess.run(
        [sys.executable, "-m", "django", "faults", *asked],  # manage.py would make a .venv in a copy without one
        cwd=settings.BASE_DIR,
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "cooperative.settings"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout, done.stderr[-20_000:]
    found = {one["name"].split(": ")[1]: one for one in json.loads(done.stdout)}
    assert [name for name, one in found.items() if one["holds"] is False] == [], done.stderr[-20_000:]
    assert {name for name, one in found.items() if one["bar"] == 0} >= {"lost", "duplicated", "unexpected", "stuck"}
    assert found["schedules"]["value"] == len(seeds)
    assert found["entries"]["value"] >= 8 * len(seeds)


def test_a_schedule_is_a_function_of_its_seed() -> None:
    assert schedule(7) == schedule(7)
    assert schedule(7) != schedule(8)


def test_a_schedule_has_three_phones_two_tabs_and_thirty_actions() -> None:
    some = [schedule(seed) for seed in range(200)]
    assert all(len(one) >= LEAST >= 30 for one in some)
    assert (len(TABS), max(TABS)) == (3, 2)
    happened = {action.what for one in some for action in one}
    assert len(happened) == len(HAPPENS) + 1  # and the whole server dies in some
