"""The one place that says how Chromium is started: for the browser tests, the measurements and the pictures."""

import os
import re
import shutil
import signal
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Playwright

#: What Chromium leaves out. The first two would draw the address bar's suggestions in a process of their own for every
#: page, which nobody sees: a quarter of all work. The rest is what Playwright leaves out, whose list this one replaces.
WITHOUT = [
    "WebUIOmniboxPopup",
    "WebUIOmniboxAimPopup",
    "AimEnabled",
    "AvoidCorsURLLoaderRestartOnRedirect",
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "LensOverlay",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
]
#: No sandbox, because tests often run as root in a container. The rest keeps it from talking to anybody but us.
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    f"--disable-features={','.join(WITHOUT)}",
]
PHONE: dict[str, Any] = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
#: A package of Debian, and a program, made of Chromium's own source.
SHELL = "chromium-headless-shell"
#: Longer than the minute within which a phone tries again: on a busy machine an answer may come too late for the first.
PATIENCE_MS = 75_000


def program() -> str:
    """Where Chromium is."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        raise FileNotFoundError("Chromium is not installed. On Debian or Ubuntu: apt-get install chromium")
    return found


def shell() -> str:
    """The same without a browser around the pages: less work, by a fifth for a page and by a third for a start.

    What is measured has the whole browser, as have long runs of phones that are killed.
    """
    return shutil.which(SHELL) or program()


def launch(player: Playwright, executable: str = "") -> Browser:
    """A browser that many phones may share: each has a context of its own."""
    return player.chromium.launch(executable_path=executable or program(), args=ARGS)


def new_phone(browser: Browser, worker: bool = True, **more: Any) -> BrowserContext:
    """A phone that has never been here. Without a service worker it keeps no pages, and takes half the work."""
    context = browser.new_context(**(PHONE | more))
    context.set_default_timeout(PATIENCE_MS)
    if not worker:
        context.add_init_script("delete Navigator.prototype.serviceWorker;")
    return context


def phone_on(player: Playwright, folder: Path, executable: str = "", **more: Any) -> BrowserContext:
    """A phone whose memory is a folder: started again there, it finds what it kept. A process of its own."""
    context = player.chromium.launch_persistent_context(
        folder, executable_path=executable or program(), args=ARGS, **(PHONE | more)
    )
    context.set_default_timeout(PATIENCE_MS)
    return context


def kill(folder: Path, processes: list[int] | None = None) -> None:
    """End the browser whose memory is `folder`, and no other, without a word of warning. Another may begin there then.

    Whoever wants it to die at a moment has asked for its `processes` before.
    """
    for process in processes or processes_on(folder):
        with suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)
    end = time.monotonic() + 5
    while processes_on(folder) and time.monotonic() < end:
        time.sleep(0.01)
    for lock in folder.glob("Singleton*"):
        lock.unlink(missing_ok=True)


def processes_on(folder: Path) -> list[int]:
    """The processes of the browser whose memory is `folder`."""
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if f"--user-data-dir={folder}".encode() in re.split(rb"[\0 ]", (process / "cmdline").read_bytes()):
                found.append(int(process.name))
    return sorted(found)
