"""A migration killed at its statements leaves the tables as they were, or is in; run again, it comes to its end."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from tests.faults.bases import Base, new_base
from tests.serving import environment

pytestmark = pytest.mark.ledger

OLD_LEDGER = settings.BASE_DIR / "tests" / "vectors" / "old_ledgers" / "0001_first.json"
#: Of the statements, every so many: with 1 (HEAPS_EVERY=1) all of them, which takes minutes.
EVERY = os.environ.get("HEAPS_EVERY", "17")


@pytest.fixture
def empty(hashed_assets: None, tmp_path: Path) -> Base:
    return new_base(tmp_path, "")


def test_killed_at_any_statement_a_migration_is_in_or_not_begun(
    empty: Base, capsys: pytest.CaptureFixture[str]
) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.faults.migrating", str(OLD_LEDGER), EVERY],
        cwd=settings.BASE_DIR, env=environment(empty.file) | {"DATABASE_URL": empty.url},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    with capsys.disabled():
        sys.stdout.write(f"\n{done.stdout}")
    assert int(done.stdout.split()[0]) > 15
    assert empty.rows("select count(*) from heaps_entry") == [(json.loads(OLD_LEDGER.read_text())["entries"],)]
    empty.prove()
