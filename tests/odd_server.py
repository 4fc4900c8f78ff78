"""The real application, for tests that need it to fail or to change at one exact moment.

A file in the folder HEAPS_ODD says which oddity is wanted; without one this is the application and nothing else.
"""

import os
import re
import signal
import time
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

from django.utils import timezone

from cooperative.wsgi import application as real
from tests.serving import DIE_AFTER_COMMIT, NEWER_WORKER, PROXY_ALONE, SLOW_ANSWER

FOLDER = Path(os.environ.get("HEAPS_ODD", "."))
NEW_VERSION = b'"version": "0123456789abcdef"'
SLOW_S = 3.0

if "HEAPS_NOW" in os.environ:  # the pictures are always taken at the same moment
    moment = datetime.fromisoformat(os.environ["HEAPS_NOW"])
    timezone.now = lambda: moment


def application(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """Answer as the application does, but for what a file asks."""
    if wanted(PROXY_ALONE):
        start_response("503 Service Unavailable", [("Content-Type", "text/html"), ("Retry-After", "60")])
        return [b"<h1>The server rests</h1>"]
    if environ["PATH_INFO"] == "/service-worker.js" and wanted(NEWER_WORKER):
        return newer_worker(environ, start_response)
    answer: Iterable[bytes] = real(environ, start_response)
    if environ["PATH_INFO"] == "/sync/" and environ["REQUEST_METHOD"] == "POST":
        after_commit()
    return answer


def after_commit() -> None:
    """The entries are in the ledger, and nothing has been answered yet."""
    if wanted(DIE_AFTER_COMMIT):
        (FOLDER / DIE_AFTER_COMMIT).unlink()
        os.killpg(os.getpgrp(), signal.SIGKILL)
    if wanted(SLOW_ANSWER):
        time.sleep(SLOW_S)


def newer_worker(environ: dict[str, Any], start_response: Any) -> list[bytes]:
    """The worker as after an update of the server: it keeps what it keeps under another version's name."""
    environ.pop("HTTP_ACCEPT_ENCODING", None)
    return [re.sub(rb'"version": "[0-9a-f]{16}"', NEW_VERSION, b"".join(real(environ, start_response)))]


def wanted(oddity: str) -> bool:
    """Whether a test asks for it just now."""
    return (FOLDER / oddity).exists()
