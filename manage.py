#!/usr/bin/env python3
"""The one door to every command. On a bare machine it first makes `.venv` from the pinned requirements."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

HOME = Path(__file__).resolve().parent
VENV = HOME / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
PINS = HOME / "cooperative" / "requirements"
NEED_TEST_PINS = {"bench", "faults", "mutations", "pictures", "test", "verify", "words"}


def main() -> None:
    wanted = "test" if NEED_TEST_PINS & set(sys.argv[1:2]) else "run"
    if Path(sys.prefix).resolve() != VENV.resolve():
        prepare(wanted)
        go_on([str(PYTHON), str(HOME / "manage.py"), *sys.argv[1:]])
    if wanted == "test":
        os.environ.setdefault("HEAPS_MODE", "test")
    if sys.argv[1:2] == ["demo"]:  # before the settings are read; a folder of its own, so that it meets no real one
        os.environ.setdefault("HEAPS_MODE", "demo")
        os.environ["HEAPS_VAR"] = str(Path(os.environ.get("HEAPS_VAR", HOME / ".var")) / "demo")
    if sys.argv[1:2] == ["host_files"]:  # it makes the key that the settings of a host ask for
        os.environ["HEAPS_CHECKS"] = "1"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "cooperative.settings")
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as trouble:  # what the README asks to set is not set: no place for a traceback
        sys.exit(str(trouble))


def prepare(wanted: str) -> None:
    """Make `.venv`, or bring it up to the pins. The stamp is written last, so a broken start begins anew."""
    stamp, pins = VENV / f"{wanted}.stamp", PINS / f"{wanted}.txt"
    digest = hashlib.sha256(pins.read_bytes()).hexdigest()
    if PYTHON.exists() and stamp.exists() and stamp.read_text() == digest:
        return
    if sys.version_info < (3, 11):  # noqa: UP036 - this file also runs on an older Python, to say so
        sys.exit("Cooperative Heaps needs Python 3.11 or newer. This is Python " + sys.version.split()[0] + ".")
    print("Setting up .venv (once; this takes a minute) ...", file=sys.stderr)
    if not PYTHON.exists() and subprocess.call([sys.executable, "-m", "venv", str(VENV)]):
        sys.exit(
            "Could not make .venv here. On Debian or Ubuntu: sudo apt install python3-venv\n"
            f"Otherwise check that you may write in {HOME}."
        )
    install = [str(PYTHON), "-m", "pip", "install", "-qq", "--disable-pip-version-check"]
    if subprocess.call([*install, "--only-binary", ":all:", "--require-hashes", "-r", str(pins)]):
        sys.exit("Could not install the pinned packages. Check the network, then run the same command again.")
    stamp.write_text(digest)


def go_on(command: list[str]) -> None:
    """Go on as `command`: as the same process where that can be, so that Ctrl-C and kill reach it."""
    if os.name == "nt":
        sys.exit(subprocess.call(command))
    os.execv(command[0], command)  # noqa: S606 - no shell is meant


if __name__ == "__main__":
    main()
