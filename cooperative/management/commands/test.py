"""`manage.py test`: everything. With arguments, only pytest with these arguments, on SQLite."""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from tests import chromium, postgres

HOME: Path = settings.BASE_DIR
INSTALL = ["apt-get", "install", "-y", "--no-install-recommends"]
PYTEST = [sys.executable, "-m", "pytest"]
#: How they share the tests, tests/conftest.py says.
THREE_AT_ONCE = ["-n", "3", "--dist", "loadscope", "--durations", "40"]
#: Notes what came of each test.
PROOFS = ["-p", "tests.faults.proofs"]
OURS = ("--install", "--pg-only")


class Command(BaseCommand):
    help = (
        "Run every check and every test, the ledger's on PostgreSQL too. --install fetches Chromium, PostgreSQL, "
        "strace and faketime; --pg-only runs only the PostgreSQL part; anything else goes to pytest."
    )

    def run_from_argv(self, argv: list[str]) -> None:
        """Everything that is not ours goes to pytest as it is, so Django's own parser is left out."""
        ours = {one for one in argv[2:] if one in OURS}
        sys.exit(everything(ours, [one for one in argv[2:] if one not in OURS]))

    def handle(self, *args: Any, **options: Any) -> None:
        sys.exit(everything(set(), []))


def everything(ours: set[str], for_pytest: list[str]) -> int:
    """Run what was asked for. The worst exit code of all parts."""
    if not ready("--install" in ours):
        return 2
    with tempfile.TemporaryDirectory(prefix="heaps-test-") as var:
        if for_pytest:
            return run([*PYTEST, *for_pytest], HEAPS_VAR=var)
        if "--pg-only" in ours:
            return on_postgresql(var)
        return max(run([sys.executable, str(HOME / "manage.py"), "verify"]), proved(var))


def proved(var: str) -> int:
    """Every test, on both databases; and whether each that tests/faults/table.toml names ran and passed."""
    with tempfile.TemporaryDirectory(prefix="heaps-proofs-") as proofs:
        os.environ["HEAPS_PROOFS"] = proofs
        first = on_postgresql(var, PROOFS)
        return max(first, run([*PYTEST, *THREE_AT_ONCE, *PROOFS, "tests"], HEAPS_VAR=var, HEAPS_LAST_PART="1"))


def on_postgresql(var: str, further: Sequence[str] = ()) -> int:
    """The tests of ledger and sync on a private PostgreSQL. Finding none to run is a failure (pytest's 5)."""
    print("\nLedger and sync on PostgreSQL:", flush=True)
    with postgres.private_cluster() as url:
        asked = [*THREE_AT_ONCE, *further, "-m", "ledger", "tests"]
        return run([*PYTEST, *asked], HEAPS_VAR=var, DATABASE_URL=url)


def run(command: list[str], **environment: str) -> int:
    """One part, with its output as it comes. A part killed by a signal counts as failed."""
    env = {**os.environ, "HEAPS_MODE": "test", **environment}
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # hundreds of processes begin, and each would compile everything anew
    if "DATABASE_URL" not in environment:
        env.pop("DATABASE_URL", None)
    return abs(subprocess.call(command, cwd=HOME, env=env))  # noqa: S603 - fixed commands


def ready(may_install: bool) -> bool:
    """Whether Chromium, PostgreSQL, strace and faketime are here, after installing them where that is wanted."""
    if not (packages := missing()):
        return True
    if not (may_install or os.environ.get("CI") == "true" or in_a_container()):
        print("The tests need " + " and ".join(packages) + ". On Debian or Ubuntu run:", file=sys.stderr)
        print(f"  sudo apt-get update && sudo {' '.join([*INSTALL, *packages])}", file=sys.stderr)
        print("or: python3 manage.py test --install", file=sys.stderr)
        return False
    for command in (["apt-get", "update"], [*INSTALL, *packages]):
        if as_root(command):
            print(f"Could not run: {' '.join(command)}", file=sys.stderr)
            return False
    as_root([*INSTALL, chromium.SHELL])  # without it, or where no such package is, the tests take longer
    return not missing()


def as_root(command: list[str]) -> int:
    """The exit code of a command that changes the system."""
    root = [] if os.geteuid() == 0 else ["sudo"]
    return run([*root, *command], DEBIAN_FRONTEND="noninteractive")


def missing() -> list[str]:
    """Packages of the system that are not here."""
    return [
        name
        for name, found in {
            "chromium": shutil.which("chromium") or shutil.which("chromium-browser"),
            "postgresql": postgres.programs(),
            "strace": shutil.which("strace"),
            "faketime": shutil.which("faketime"),
        }.items()
        if not found
    ]


def in_a_container() -> bool:
    """Whether this machine is a container, where installing disturbs nobody."""
    marks = (Path("/.dockerenv"), Path("/run/.containerenv"))
    return any(mark.exists() for mark in marks) or "container" in os.environ
