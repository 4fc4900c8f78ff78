"""`manage.py demo`: from the command to a page and back, and never over another database."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import suppress
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.urls import reverse

from cooperative.demo import PASSWORD


def test_it_refuses_any_database_but_its_own() -> None:
    """No database may be used in this test, so it also fails if one is only looked at."""
    with pytest.raises(CommandError, match="database of its own"):
        call_command("demo", "--fill-only")


def start(var: Path, *options: str) -> subprocess.Popen[str]:
    env = {name: value for name, value in os.environ.items() if name not in ("HEAPS_MODE", "DATABASE_URL")}
    return subprocess.Popen(
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "demo", *options],
        env={**env, "HEAPS_VAR": str(var)}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
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
    assert "were put in" in start(tmp_path, "--fill-only").communicate(timeout=240)[0]
    demo = start(tmp_path, "--port", str(port))
    try:
        assert status_of(f"http://127.0.0.1:{port}{reverse('members:sign_in')}") == 200
        busy = start(tmp_path, "--port", str(port))
        assert f"Something else uses port {port}" in busy.communicate(timeout=30)[1]
        os.killpg(demo.pid, signal.SIGINT)  # Ctrl-C reaches the server and what makes the forecasts beside it
        said, complaints = demo.communicate(timeout=20)
    finally:
        with suppress(ProcessLookupError):
            os.killpg(demo.pid, signal.SIGKILL)
    assert demo.returncode == 0 and "Traceback" not in complaints
    assert "Kept as it was" in said and PASSWORD in said
    assert all(f"  {name} " in said for name in ("tansy", "bryony", "moss", "sorrel", "yarrow"))
    assert (tmp_path / "demo" / "heaps.sqlite3").exists()
