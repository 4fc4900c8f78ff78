"""`manage.py faults`: plays seeded schedules on light phones, and counts lost, duplicated, unexpected, stuck."""

import argparse
import math
import os
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import asdict
from pathlib import Path
from typing import Any

import django

from cooperative.bench import Figure
from tests import postgres
from tests.faults.telling import counted, parser_of, tell

FIRST_SEED = 1
COUNTERS = ("lost", "duplicated", "unexpected", "stuck", "untrue", "drift")


def main() -> int:
    given = asked()
    signal.signal(signal.SIGTERM, lambda *_signal: sys.exit(143))  # so that server and browser end with it
    with ExitStack() as stack:
        var = Path(os.environ["HEAPS_VAR"])
        url = f"sqlite:///{var / 'heaps.sqlite3'}"
        if given.database == "postgresql":
            url = stack.enter_context(postgres.private_cluster())
        # Django reads the first when it starts; Playwright's loop runs in the one thread that we have.
        os.environ |= {"DATABASE_URL": url, "DJANGO_ALLOW_ASYNC_UNSAFE": "true"}
        django.setup()
        results = list(played(given, var))
    if failed := [one["seed"] for one in results if not one["holds"]]:
        sys.stderr.write(f"Play one again: manage.py faults --database {given.database} --seed N, for N in {failed}\n")
    return tell(given, f"light-{given.database}", figures(given, results))


def asked() -> argparse.Namespace:
    parser = parser_of("", __doc__)
    parser.add_argument(
        "--seed", type=int, default=FIRST_SEED, help="the first seed; alone, only that one, with its story"
    )
    parser.add_argument("--schedules", type=int, help="how many, one seed after the other")
    parser.add_argument("--minutes", type=float, default=math.inf, help="begin no other after so much time")
    parser.add_argument("--database", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--until-one-fails", action="store_true", help="end with the first seed that does not hold")
    given = parser.parse_args()
    given.story = given.schedules is None
    given.schedules = given.schedules or 1
    return given


def played(given: argparse.Namespace, folder: Path) -> Iterator[dict[str, Any]]:
    """The outcome of each seed. One that does not hold tells its story."""
    from tests.faults.deeds import HAPPENS
    from tests.faults.play import Play, stage

    began = time.perf_counter()
    with stage(folder) as everything:
        for seed in range(given.seed, given.seed + given.schedules):
            begun = time.perf_counter()
            play = Play(everything, seed)
            try:
                counts = asdict(play.run(HAPPENS))
            except Exception:
                sys.stderr.write("\n".join([f"seed {seed} broke off:", *play.story, ""]))
                raise
            holds = not any(counts[name] for name in COUNTERS)
            if given.story or not holds:
                told = [f"{name}: {one}" for name in COUNTERS for one in counts[name]]
                sys.stderr.write("\n".join([f"seed {seed}:", *play.story, *told, ""]))
            yield {"seed": seed, "took_s": time.perf_counter() - begun, "counts": counts, "holds": holds}
            late = time.perf_counter() - began > 60 * given.minutes
            if late or (given.until_one_fails and not holds):
                return


def figures(given: argparse.Namespace, results: list[dict[str, Any]]) -> list[Figure]:
    """What was truly played, and the counters, each of which must be 0."""
    of = f"light phones on {given.database}"
    told = {"first seed": given.seed, "last seed": results[-1]["seed"], "schedules": len(results)}
    told |= {"entries": sum(one["counts"]["entries"] for one in results)}
    counters = {name: sum(len(one["counts"][name]) for one in results) for name in COUNTERS}
    return counted(of, told, counters, sum(one["took_s"] for one in results))


if __name__ == "__main__":
    sys.exit(main())
