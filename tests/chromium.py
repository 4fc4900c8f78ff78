"""The one place that says how Chromium is started: for the browser tests, the measurements and the pictures."""

import os
import re
import shutil
import signal
import subprocess
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Playwright

#: No sandbox, because tests often run as root in a container. The rest keeps it from talking to anybody but us.
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE: dict[str, Any] = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
PATIENCE_MS = 20_000


def program() -> str:
    """Where Chromium is."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        raise FileNotFoundError("Chromium is not installed. On Debian or Ubuntu: apt-get install chromium")
    return found


def launch(player: Playwright) -> Browser:
    """A browser that many phones may share: each has a context of its own."""
    return player.chromium.launch(executable_path=program(), args=ARGS)


def new_phone(browser: Browser, **more: Any) -> BrowserContext:
    """A phone that has never been here."""
    context = browser.new_context(**(PHONE | more))
    context.set_default_timeout(PATIENCE_MS)
    return context


def phone_on(player: Playwright, folder: Path, **more: Any) -> BrowserContext:
    """A phone whose memory is a folder: started again there, it finds what it kept. A process of its own."""
    context = player.chromium.launch_persistent_context(folder, executable_path=program(), args=ARGS, **(PHONE | more))
    context.set_default_timeout(PATIENCE_MS)
    return context


def kill(folder: Path) -> None:
    """End the browser whose memory is `folder`, and no other, without a word of warning."""
    listed = subprocess.run(["ps", "-ww", "-eo", "pid,args"], capture_output=True, text=True, check=True).stdout
    for line in listed.splitlines():
        if f"--user-data-dir={folder}" in line and (found := re.match(r"\s*(\d+)", line)):
            with suppress(ProcessLookupError):
                os.kill(int(found[1]), signal.SIGKILL)
    time.sleep(0.3)
    for lock in folder.glob("Singleton*"):
        lock.unlink(missing_ok=True)
