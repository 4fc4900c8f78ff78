"""A disk with little room, to be filled up and made read only. Where none can be mounted, a limit does it."""

import os
import resource
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

PAGE = 4096


class Disk:
    """A folder on a disk of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.ballast = folder, folder / "ballast"

    def leave(self, pages: int, *_pids: int) -> None:
        """Fill it up, but for so many pages."""
        self.make_room()
        with self.ballast.open("wb") as file, suppress(OSError):
            while True:
                os.write(file.fileno(), bytes(PAGE))
        if pages:
            os.truncate(self.ballast, max(0, self.ballast.stat().st_size - pages * PAGE))

    def make_room(self, *_pids: int) -> None:
        self.ballast.unlink(missing_ok=True)


class Limit(Disk):
    """Stands in for it: whoever writes past a limit on the size of files is refused as by a full disk."""

    def leave(self, pages: int, *pids: int) -> None:
        size = max(file.stat().st_size for file in self.folder.iterdir())
        for pid in pids:
            resource.prlimit(pid, resource.RLIMIT_FSIZE, (size + (pages - 1) * PAGE, resource.RLIM_INFINITY))

    def make_room(self, *pids: int) -> None:
        for pid in pids:
            resource.prlimit(pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))


@contextmanager
def small_disk(folder: Path, megabytes: int = 3, owner: str = "") -> Iterator[Disk]:
    """A small disk at a folder. A machine that lets nobody mount one gets the limit instead."""
    folder.mkdir()
    mounted = mount("-t", "tmpfs", "-o", f"size={megabytes}m", "none", str(folder))
    if owner:
        shutil.chown(folder, owner)
    try:
        yield Disk(folder) if mounted else Limit(folder)
    finally:
        if mounted:
            subprocess.run(["umount", "-l", str(folder)], check=True)


def mount(*what: str) -> bool:
    """Whether this machine let us."""
    program = shutil.which("mount")
    return bool(program) and subprocess.run([str(program), *what], capture_output=True, check=False).returncode == 0


def processes_of(parent: int) -> list[int]:
    """A process and its children."""
    children = Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
    return [parent, *map(int, children)]
