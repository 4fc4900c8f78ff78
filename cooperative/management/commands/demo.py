"""An invented cooperative on this machine, to try everything out."""

import os
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connections
from django.utils import timezone

from cooperative.demo import PASSWORD, fill, sign_ins
from members.models import Cooperative


class Command(BaseCommand):
    help = "Fill an invented cooperative with two years of records, and serve it on this machine only."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--fill-only", action="store_true", help="fill and end")

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.MODE != "demo" or "DATABASE_URL" in os.environ:
            raise CommandError(
                "The demo only fills a database of its own. Start it as `python3 manage.py demo`, "
                "with neither HEAPS_MODE nor DATABASE_URL set."
            )
        if not options["fill_only"] and _is_taken(options["port"]):
            another = options["port"] + 1
            raise CommandError(f"Something else uses port {options['port']}. Try: demo --port {another}")
        self._prepare()
        if not options["fill_only"]:
            self._introduce(options["port"])
            _forecast_meanwhile()
            _serve(options["port"])

    def _prepare(self) -> None:
        started = time.monotonic()
        call_command("migrate", verbosity=0)
        if not Cooperative.objects.exists():
            self.stdout.write("Putting in two years of records; this takes some seconds ...")
            self.stdout.flush()
        if fill(timezone.now()):
            self.stdout.write(f"They were put in ({time.monotonic() - started:.0f} s).")
        else:
            self.stdout.write(f"Kept as it was. To begin anew, delete {settings.VAR_DIR}")
        if _static_is_old():
            call_command("collectstatic", interactive=False, clear=True, verbosity=0)

    def _introduce(self, port: int) -> None:
        address = f"http://localhost:{port}"
        self.stdout.write(f"\n{Cooperative.objects.get()}, an invented cooperative: {address}/\n")
        self.stdout.write("Sign in as one of these:")
        for username, role in sign_ins():
            self.stdout.write(f"  {username:8} {role}")
        self.stdout.write(f"Everybody's password, of the other members too: {PASSWORD}")
        words = f"HEAPS_MODE=demo HEAPS_VAR={settings.VAR_DIR} python3 manage.py sign_in_words NAME --address {address}"
        self.stdout.write(f"Exports and roles ask for a passkey or for words. For words: {words}")
        self.stdout.write("Each heap's forecast comes within a minute.")
        self.stdout.write("Only this machine can reach it. End with Ctrl-C.")
        self.stdout.flush()


def _static_is_old() -> bool:
    made = Path(settings.STATIC_ROOT) / "staticfiles.json"
    sources = [path for folder in settings.STATICFILES_DIRS for path in Path(folder).rglob("*")]
    return not made.exists() or any(path.stat().st_mtime > made.stat().st_mtime for path in sources)


def _is_taken(port: int) -> bool:
    with socket.socket() as knock:
        knock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            knock.bind(("127.0.0.1", port))
        except OSError:
            return True
    return False


def _forecast_meanwhile() -> None:
    """In a process of its own, so that the first page need not wait for the last heap. Ctrl-C ends it, too."""
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "forecast"]
    quiet = subprocess.DEVNULL
    subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet)  # noqa: S603 - no shell is meant


def _serve(port: int) -> None:
    """Go on as the server, in the same process, so that Ctrl-C ends it."""
    connections.close_all()
    options = [f"--bind=127.0.0.1:{port}", "--workers=1", "--threads=8", "--graceful-timeout=2", "--no-control-socket"]
    command = [sys.executable, "-m", "gunicorn", "cooperative.wsgi", "--log-level=warning", *options]
    os.execv(command[0], command)  # noqa: S606 - no shell is meant
