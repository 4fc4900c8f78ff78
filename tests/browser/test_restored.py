"""An older copy is brought back on a real server, and real phones bring again what it lacks: all of it, once."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import open_recording, record_coffee, setting, sign_in, stored, wait_until
from tests.serving import Server, environment

pytestmark = pytest.mark.browser

SUMS = "select coalesce(sum(entries), 0), coalesce(sum(volume_ml), 0) from heaps_daytotal where what = 'came in'"


def command(server: Server, folder: Path, *said: str) -> subprocess.CompletedProcess[str]:
    """A command of the host, with a folder of copies of this test's own."""
    env = {**os.environ, **environment(server.database), "HEAPS_VAR": str(folder)}
    line = [sys.executable, "-m", "django", *said]
    return subprocess.run(line, cwd=settings.BASE_DIR, env=env, text=True, capture_output=True, check=False)


def record(page: Page, count: int) -> None:
    """So many loads, each on the server before this goes on."""
    for _ in range(count):
        record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")


def done_well(done: subprocess.CompletedProcess[str]) -> str:
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_after_an_older_copy_phones_bring_again_what_it_lacks(
    page: Page, phone: BrowserContext, server: Server, tmp_path: Path
) -> None:
    sign_in(page, server)
    record(page, 2)
    done_well(command(server, tmp_path, "backup"))
    (copy,) = (tmp_path / "backups").glob("*.sqlite3")
    record(page, 3)
    epoch, ((entries, volume),) = setting(page, "epoch"), server.rows(SUMS)
    uids = {uid for (uid,) in server.rows("select uid from heaps_entry")}
    refused = command(server, tmp_path, "restore", str(copy))
    assert refused.returncode == 1 and "Stop them first" in refused.stderr
    phone.set_offline(True)
    record_coffee(page)

    server.kill()
    said = done_well(command(server, tmp_path, "restore", str(copy)))
    assert "Not in the copy: 3 entries that came by a phone; phones offer them again." in said
    assert server.entries == 2
    server.start()
    phone.set_offline(False)
    open_recording(page, server)
    wait_until(page, lambda: server.entries == 6 and stored(page, "waiting") == [])
    expect(page.locator("#state")).to_contain_text("All sent")

    assert setting(page, "epoch") != epoch
    assert uids < {uid for (uid,) in server.rows("select uid from heaps_entry")}
    assert server.rows(SUMS) == [(entries + 1, volume // entries * (entries + 1))]
    (missing,) = (tmp_path / "backups").glob("lost-*.csv")
    said = done_well(command(server, tmp_path, "restore", "--still-missing", str(missing)))
    assert "0 of that list have not come back" in said
