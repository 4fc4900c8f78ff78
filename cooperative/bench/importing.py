"""An old notebook brought in and taken back: rows a second, whether a row costs more in a longer file, and memory."""

import json
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings

from cooperative.bench.figures import Figure

FEW = 1_000
MOST_MB, MOST_RATIO = 50, 1.5
STEPS = ("read", "brought in", "taken back")
LIVE = 4  # that many bays get loads by phone after all that the notebook tells of
MATERIALS = ("peelings", "leaves-mixed", "cardboard", "grass-fresh", "coffee")
BEGINS = datetime(2015, 1, 1, 9, tzinfo=UTC)


def figures(rows: int) -> Iterator[Figure]:
    """Measure three lengths of one notebook, each in a process of its own."""
    few, some, many = (_apart(count) for count in (FEW, max(FEW, rows // 10), rows))
    more_mb = many["peak_mb"] - few["peak_mb"]
    yield Figure(f"import: more memory for {rows:,} rows than for {FEW:,}", more_mb, "MB", MOST_MB)
    yield Figure(f"import: memory of {rows:,} rows", many["peak_mb"], "MB", None, few["peak_mb"])
    for step in STEPS:
        yield Figure(f"import: rows a second, {step}", rows / many[step], "/s")
        per_row, before = (1_000 * one[step] / one["rows"] for one in (many, some))
        yield Figure(f"import: time a row, {step}", per_row, "ms", MOST_RATIO, before)
    yield Figure("import: longest step under the lock", many["longest"], "s")


def _apart(rows: int) -> dict[str, Any]:
    """What one length takes. Another process, because a process never gives back its peak of memory."""
    done = subprocess.run(  # noqa: S603 - our own module
        [sys.executable, "-m", "cooperative.bench.importing", str(rows)],
        cwd=settings.BASE_DIR,
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "cooperative.settings"},
        stdout=subprocess.PIPE,
        check=True,
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def _measured(rows: int) -> dict[str, Any]:
    """One notebook in, and out again, as the page does it."""
    from django.core.files.uploadedfile import TemporaryUploadedFile
    from django.utils import timezone

    from cooperative.bench.board import fill, own_database, signed_in_browser
    from heaps.importing import runs
    from heaps.models import ImportRun
    from members.models import Member

    with own_database(), tempfile.TemporaryDirectory(prefix="heaps-bench-") as folder:
        settings.FILE_UPLOAD_TEMP_DIR = Path(folder)
        signed_in_browser()
        fill(LIVE)
        Member.objects.filter(username="ada").update(is_coordinator=True)
        ada = Member.objects.get(username="ada")
        upload = TemporaryUploadedFile("notebook.csv", "text/csv", 0, None)
        write_notebook(Path(upload.temporary_file_path()), rows)
        run = runs.begin(upload, ImportRun(file_name="notebook.csv", person=ada, made_at=timezone.now()))
        upload.close()
        found: dict[str, Any] = {"rows": rows, "longest": 0.0}
        for what, then, asked in zip(STEPS, ("read", "done", "gone"), ("", "bring in", "take back"), strict=True):
            if asked:
                runs.ask(run, asked)
            found[what] = _until(run, then, ada, found)
        if (run.went_in, run.taken_back) != (rows, rows):
            raise AssertionError(f"Not all went in and out: {run.went_in}, {run.taken_back}")
    return found | {"peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}


def _until(run: Any, state: str, person: Any, found: dict[str, Any]) -> float:
    """Step after step; how many seconds all took."""
    from heaps.importing import runs

    began = time.process_time()
    while run.state != state:
        before = time.process_time()
        runs.step(run, person)
        found["longest"] = max(found["longest"], time.process_time() - before)
        run.refresh_from_db()
    return time.process_time() - began


def write_notebook(path: Path, rows: int) -> None:
    """Loads, readings and now and then a harvest in four bays, in ten years and in no order."""
    chance = random.Random(5)  # noqa: S311 - the same notebook each time
    minutes = list(range(rows))
    chance.shuffle(minutes)
    apart = timedelta(days=3_650) / rows
    with path.open("w", encoding="utf-8") as file:
        file.write("what,date,time,bay,material,container,count,temperature_c,bags,share_percent\n")
        for number in minutes:
            at = BEGINS + number * apart
            head = f"{{}},{at:%Y-%m-%d},{at:%H:%M:%S},Bay {1 + number % LIVE},"
            if number % 2_000 >= 2_000 - LIVE:
                file.write(head.format("harvest") + ",,,,20,100\n")
            elif number % 5 == 0:
                file.write(head.format("reading") + f",,,{chance.randint(15, 65)},,\n")
            else:
                file.write(head.format("drop-off") + f"{chance.choice(MATERIALS)},bucket,{chance.randint(1, 6)},,,\n")


if __name__ == "__main__":
    import django

    django.setup()
    sys.stdout.write(json.dumps(_measured(int(sys.argv[1]))))
