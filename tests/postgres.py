"""A private PostgreSQL for one test run: its own folder and socket, no port, gone afterwards."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote, unquote

#: Weaker than a host may ever be: what this cluster holds is thrown away, so it need not outlive a power cut.
DURABILITY_OFF_FOR_TESTS = ("fsync=off", "full_page_writes=off", "synchronous_commit=off")
SUPERUSER = "postgres"


def programs() -> Path | None:
    """The folder with the newest installed `initdb` and `pg_ctl`, or None."""
    found = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    if not found and (on_path := shutil.which("initdb")):
        found = [Path(on_path).resolve().parent]
    return max(found, key=lambda folder: _version(folder.parent.name), default=None)


@contextmanager
def private_cluster(durable: bool = False, under: Sequence[str] = ()) -> Iterator[str]:
    """Start a cluster and give its DATABASE_URL. `under` is a strace that writes what it sees beside the data."""
    folder = programs()
    if folder is None:
        raise FileNotFoundError("PostgreSQL is not installed. On Debian or Ubuntu: apt-get install postgresql")
    with tempfile.TemporaryDirectory(prefix="heaps-pg-") as home:
        _hand_over(Path(home))
        data = f"{home}/data"
        _run([str(folder / "initdb"), "-D", data, "-U", SUPERUSER, "-A", "trust", "-E", "UTF8", "--no-sync"])
        weaker = [] if durable else [f"-c {one}" for one in DURABILITY_OFF_FOR_TESTS]
        options = " ".join([f"-k {home}", "-c listen_addresses=''", *weaker])
        watched = [*under, "-o", f"{home}/trace", "-D"] if under else []
        start = _run_and_leave if under else _run
        start([*watched, str(folder / "pg_ctl"), "-D", data, "-w", "-l", f"{home}/log", "-o", options, "start"])
        if not durable:
            os.environ["HEAPS_WEAK_DATABASE"] = "for tests only"  # for whoever serves on it
        try:
            yield f"postgres://{SUPERUSER}@{quote(home, safe='')}/{SUPERUSER}"
        finally:
            os.environ.pop("HEAPS_WEAK_DATABASE", None)
            _run([str(folder / "pg_ctl"), "-D", data, "-w", "-m", "immediate", "stop"])


def home_of(url: str) -> Path:
    """The folder of a cluster, by its DATABASE_URL."""
    return Path(unquote(url.rpartition("@")[2].partition("/")[0]))


def _version(name: str) -> int:
    return int(name) if name.isdigit() else 0


def _hand_over(home: Path) -> None:
    """PostgreSQL refuses to run as root, so root gives the folder to the system's own user for it."""
    home.chmod(0o755)
    if os.geteuid() == 0:
        shutil.chown(home, SUPERUSER)


def _run_and_leave(command: list[str]) -> None:
    """Run what leaves a process behind that goes on writing: nobody waits for the end of that."""
    if os.geteuid() == 0:
        command = ["runuser", "-u", SUPERUSER, "--", *command]
    subprocess.run(command, cwd="/", stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)


def _run(command: list[str]) -> None:
    if os.geteuid() == 0:
        command = ["runuser", "-u", SUPERUSER, "--", *command]
    done = subprocess.run(command, cwd="/", capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{' '.join(command)}\n{done.stdout}{done.stderr}")
