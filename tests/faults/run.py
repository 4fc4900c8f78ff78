"""`manage.py faults`: plays seeded schedules on light phones, and counts lost, duplicated, unexpected, stuck."""

import argparse
import json
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

from cooperative.bench import Figure, table
from tests import postgres

FIRST_SEED = 1
FIGURES = Path(__file__).resolve().parents[1] / "figures"
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
    found = figures(given, results)
    plain = json.dumps([one.plain() for one in found], indent=1)
    sys.stdout.write((plain if given.json else table(found)) + "\n")
    if given.keep:
        (FIGURES / f"faults-{given.database}.json").write_text(plain + "\n")
    if failed := [one["seed"] for one in results if not one["holds"]]:
        sys.stderr.write(f"Play one again: manage.py faults --database {given.database} --seed N, for N in {failed}\n")
    return 1 if failed else 0


def asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="manage.py faults", description=__doc__)
    parser.add_argument(
        "--seed", type=int, default=FIRST_SEED, help="the first seed; alone, only that one, with its story"
    )
    parser.add_argument("--schedules", type=int, help="how many, one seed after the other")
    parser.add_argument("--database", choices=("sqlite", "postgresql"), default="sqlite")
    parser.add_argument("--until-one-fails", action="store_true", help="end with the first seed that does not hold")
    parser.add_argument("--keep", action="store_true", help=f"write the figures into {FIGURES.name}/ too")
    parser.add_argument("--json", action="store_true", help="for a program")
    given = parser.parse_args()
    given.story = given.schedules is None
    given.schedules = given.schedules or 1
    return given


def played(given: argparse.Namespace, folder: Path) -> Iterator[dict[str, Any]]:
    """The outcome of each seed. One that does not hold tells its story."""
    from tests.faults.deeds import HAPPENS
    from tests.faults.play import Play, stage

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
            if given.until_one_fails and not holds:
                return


def figures(given: argparse.Namespace, results: list[dict[str, Any]]) -> list[Figure]:
    """What was truly played, and the counters, each of which must be 0."""
    of = f"light phones on {given.database}"
    told = {"first seed": given.seed, "last seed": results[-1]["seed"], "schedules": len(results)}
    told |= {"entries": sum(one["counts"]["entries"] for one in results)}
    counted = {name: sum(len(one["counts"][name]) for one in results) for name in COUNTERS}
    return [
        *(Figure(f"{of}: {name}", value, "") for name, value in told.items()),
        Figure(f"{of}: time", sum(one["took_s"] for one in results), "s"),
        *(Figure(f"{of}: {name}", value, "", bar=0) for name, value in counted.items()),
    ]


if __name__ == "__main__":
    sys.exit(main())
