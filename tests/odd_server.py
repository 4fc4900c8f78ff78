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

from django.conf import settings
from django.db import connections
from django.urls import get_resolver
from django.utils import timezone

from cooperative.wsgi import application as real
from tests.points import Points
from tests.serving import (
    BROKEN_WORKER,
    DIE_AFTER_COMMIT,
    DIE_AT_POINT,
    NEWER_WORKER,
    POINTS_PASSED,
    PROXY_ALONE,
    SLOW_ANSWER,
    WORKER_DIES_AFTER_COMMIT,
    WORKER_OFF,
)

FOLDER = Path(os.environ.get("HEAPS_ODD", "."))
NEW_VERSION = "0123456789abcdef"
SLOW_S = 3.0

assert get_resolver().url_patterns  # read before gunicorn forks, so that a worker that comes after a kill is quick
if "HEAPS_NOW" in os.environ:  # the pictures are always taken at the same moment
    moment = datetime.fromisoformat(os.environ["HEAPS_NOW"])
    timezone.now = lambda: moment
if "HEAPS_PATIENCE_S" in os.environ:  # for tests that would otherwise wait for a held lock as long as a host does
    seconds = float(os.environ["HEAPS_PATIENCE_S"])
    on_sqlite = {"timeout": seconds}
    on_postgresql = {"options": f"-c lock_timeout={seconds * 1000:.0f}"}
    base = connections["default"]
    base.settings_dict["OPTIONS"] |= on_sqlite if base.vendor == "sqlite" else on_postgresql


def application(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """Answer as the application does, but for what a file asks."""
    if wanted(PROXY_ALONE):
        start_response("503 Service Unavailable", [("Content-Type", "text/html"), ("Retry-After", "60")])
        return [b"<h1>The server rests</h1>"]
    if environ["PATH_INFO"] == "/service-worker.js":
        return worker(environ, start_response)
    if environ["PATH_INFO"] == "/sync/" and environ["REQUEST_METHOD"] == "POST":
        return sending(environ, start_response)
    answer: Iterable[bytes] = real(environ, start_response)
    return answer


def sending(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """Entries come in. The process dies where a file says so."""
    if wanted(DIE_AT_POINT):
        points = Points(connections["default"], int((FOLDER / DIE_AT_POINT).read_text()))
        with points:
            answer: Iterable[bytes] = real(environ, start_response)
        (FOLDER / POINTS_PASSED).write_text("\n".join(points.passed))
        return answer
    answer = real(environ, start_response)
    after_commit()
    return answer


def after_commit() -> None:
    """The entries are in the ledger, and nothing has been answered yet."""
    if wanted(DIE_AFTER_COMMIT):
        (FOLDER / DIE_AFTER_COMMIT).unlink()
        os.killpg(os.getpgrp(), signal.SIGKILL)
    if wanted(WORKER_DIES_AFTER_COMMIT):
        (FOLDER / WORKER_DIES_AFTER_COMMIT).unlink()
        os.kill(os.getpid(), signal.SIGKILL)
    if wanted(SLOW_ANSWER):
        time.sleep(SLOW_S)


def worker(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """The worker as it is, as after an update of the server, as nobody wants it, or taken off."""
    settings.WORKER_OFF = wanted(WORKER_OFF)
    if wanted(BROKEN_WORKER):
        start_response("200 OK", [("Content-Type", "text/javascript"), ("Cache-Control", "no-cache")])
        return [(FOLDER / BROKEN_WORKER).read_bytes()]
    if not wanted(NEWER_WORKER):
        found: Iterable[bytes] = real(environ, start_response)
        return found
    environ.pop("HTTP_ACCEPT_ENCODING", None)
    version = (FOLDER / NEWER_WORKER).read_text() or NEW_VERSION
    said = b"".join(real(environ, start_response))
    return [re.sub(rb'"version": "[0-9a-f]{16}"', f'"version": "{version}"'.encode(), said)]


def wanted(oddity: str) -> bool:
    """Whether a test asks for it just now."""
    return (FOLDER / oddity).exists()
