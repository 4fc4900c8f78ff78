"""A long ledger copied and brought back: how long each takes, with everything that `backup` and `restore` look at."""

import io
import resource
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.utils import timezone

from cooperative.backups import shelf
from cooperative.backups.making import make
from cooperative.backups.restoring import restore
from cooperative.bench.board import own_database
from cooperative.bench.figures import Figure
from cooperative.bench.years import fill

#: Until phones are answered again (our own aim, for a million entries).
MOST_S = 600


def figures(entries: int) -> Iterator[Figure]:
    """On SQLite, in a folder of its own."""
    with own_database(), tempfile.TemporaryDirectory(prefix="heaps-bench-") as folder:
        settings.BACKUP_DIR = Path(folder) / "backups"
        fill(entries)
        call_command("detach_names", stdout=io.StringIO())  # each night takes the names off one day more
        slip = make(None, 1, timezone.now())
        yield Figure(f"backup of {entries:,} entries, proved", slip.seconds, "s")
        yield Figure("backup: size of the copy", slip.bytes / 1e6, "MB")
        began, cpu = time.monotonic(), time.process_time()
        done = restore(Path(slip.folder) / slip.file, timezone.now())
        yield Figure(f"restore of {entries:,} entries", time.monotonic() - began, "s", MOST_S)
        yield Figure("restore: of that, this process was at work", time.process_time() - cpu, "s")
        yield Figure("peak of memory", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, "MB")
        if done.held.entries != entries or not shelf.copies(settings.BACKUP_DIR):
            raise AssertionError(f"Not all came back: {done.held.entries}")
        Path(done.kept).unlink()
