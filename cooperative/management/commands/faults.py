"""`manage.py faults`: phones, network and server fail as a seed says, and what is lost or doubled is counted."""

import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

HOME: Path = settings.BASE_DIR
MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of our own is made in it


@dataclass(frozen=True)
class Part:
    """Something this command runs: a module with options of its own."""

    module: str
    does: str


#: What may be asked for. Without one of these words it is the first.
PARTS = {
    "--light": Part("tests.faults.run", "seeded schedules on light phones: [--seed N] [--schedules N] [--database D]"),
    "--whole": Part("tests.faults.whole_run", "whole phones, killed again and again: [--seed N] [--minutes M]"),
    "--states": Part("tests.faults.door.run", "random stories at the door: [STORIES] [--steps N] [--seed N]"),
    "--fuzz": Part("tests.faults.fuzz.run", "wrong bodies to /sync/: [BODIES] [--seed N]"),
    "--rush": Part("tests.faults.rush", "fifty phones at one second: [--database D]"),
    "--table": Part("tests.faults.table", "each fault, what came of it, and the tests that prove it"),
}


class Command(BaseCommand):
    help = "Let phones, network and server fail, and count what is lost, doubled, unexpected or stuck. " + "; ".join(
        f"{word}: {part.does}" for word, part in PARTS.items()
    )

    def run_from_argv(self, argv: list[str]) -> None:
        """What the parts understand they say themselves, so Django's own parser is left out."""
        asked = [word for word in argv[2:] if word in PARTS] or list(PARTS)[:1]
        given = [word for word in argv[2:] if word not in PARTS]
        sys.exit(max(run(PARTS[word], given) for word in asked))

    def handle(self, *args: Any, **options: Any) -> None:
        self.run_from_argv(["manage.py", "faults", *args])


def run(part: Part, given: list[str]) -> int:
    """One part, in a process and a folder of its own. In memory where that can be: a power cut is not tried here."""
    with tempfile.TemporaryDirectory(prefix="heaps-faults-", dir=MEMORY if MEMORY.is_dir() else None) as var:
        env = {**os.environ, "HEAPS_MODE": "test", "HEAPS_VAR": var, "DJANGO_SETTINGS_MODULE": "cooperative.settings"}
        env.pop("DATABASE_URL", None)
        command = [sys.executable, "-m", part.module, *given]
        return abs(subprocess.call(command, cwd=HOME, env=env))  # noqa: S603 - one of our own modules
