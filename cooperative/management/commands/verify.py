"""`manage.py verify`: every check that needs no running program, in order. It fails if any of them finds something."""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from cooperative.asset_checks import broken_imports, other_origins

HOME: Path = settings.BASE_DIR
TOOLS = Path(sys.executable).parent
MANAGE = [sys.executable, str(HOME / "manage.py")]
#: Long and mixed enough for `check --deploy`; it signs nothing.
MADE_UP_KEY = "made-up-for-the-checks-0123456789-abcdefghijklmnopqrstuvwxyz"


class Command(BaseCommand):
    help = "Run every check that needs no running program: style, types, imports, templates, settings, assets."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        found = [name for name, step in steps().items() if not self.holds(name, step)]
        if found:
            raise CommandError(f"Found something: {', '.join(found)}.", returncode=1)

    def holds(self, name: str, step: Callable[[], str]) -> bool:
        """Try one check and tell how it went."""
        began = time.monotonic()
        problem = step()
        self.stdout.write(f"{'FAILED' if problem else 'ok':6} {time.monotonic() - began:5.1f} s  {name}")
        if problem:
            self.stdout.write(problem)
        return not problem


def steps() -> dict[str, Callable[[], str]]:
    """The checks by name. Each answers with what is wrong, or with nothing."""
    return {
        "ruff check": tool("ruff", "check", "."),
        "ruff format": tool("ruff", "format", "--check", "."),
        "mypy": tool("mypy"),
        "import contracts": tool("lint-imports"),
        "words": manage("words", "--strict"),
        "templates": tool("djlint", "--lint", "--quiet", "templates"),
        "migrations": manage("makemigrations", "--check", "--dry-run"),
        "host settings": on_a_host("check", "--deploy", "--fail-level", "WARNING"),
        "hashed assets": hashed_assets,
        "one origin": lambda: "\n".join(other_origins([HOME / "templates", HOME / "static"])),
    }


def tool(name: str, *arguments: str) -> Callable[[], str]:
    """A check by a program of the environment."""
    return lambda: problem_of([str(TOOLS / name), *arguments])


def manage(*arguments: str) -> Callable[[], str]:
    """A check by a command of ours."""
    return lambda: problem_of([*MANAGE, *arguments])


def on_a_host(*arguments: str) -> Callable[[], str]:
    """A check under the settings of a host."""
    return lambda: problem_of([*MANAGE, *arguments], HEAPS_MODE="host", SECRET_KEY=MADE_UP_KEY)


def hashed_assets() -> str:
    """Collect the assets into a folder of their own and follow every import between them."""
    with tempfile.TemporaryDirectory(prefix="heaps-assets-") as var:
        problem = problem_of([*MANAGE, "collectstatic", "--no-input", "-v", "0"], HEAPS_VAR=var)
        return problem or "\n".join(broken_imports(Path(var) / "static"))


def problem_of(command: list[str], **environment: str) -> str:
    """What a program said, if it failed."""
    done = subprocess.run(  # noqa: S603 - fixed commands
        command,
        cwd=HOME,
        env={**os.environ, "HEAPS_MODE": "test", **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    return (done.stdout.strip() or f"It ended with {done.returncode}.") if done.returncode else ""
