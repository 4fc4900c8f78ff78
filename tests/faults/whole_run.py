"""`manage.py faults --whole [--seed N] [--minutes M]`: whole phones, one schedule after the other."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import django
from playwright.sync_api import sync_playwright

from cooperative.bench import Figure
from tests.faults.telling import counted, parser_of, tell
from tests.faults.whole_counts import COUNTERS


def main() -> int:
    """Play them, and print the four counters."""
    django.setup()
    parser = parser_of("--whole", __doc__)
    parser.add_argument("--seed", type=int, default=1, help="the first seed; alone, only that one, with its story")
    parser.add_argument("--minutes", type=float, help="one seed after the other until so much time is over")
    given = parser.parse_args()
    began, results = time.monotonic(), []
    with ExitStack() as stack:
        for schedule in schedules(stack, Path(os.environ["HEAPS_VAR"]), given.seed):
            try:
                counts = schedule.run()
            except Exception:
                sys.stderr.write("\n".join([*schedule.story, "  broke off", ""]))
                raise
            results.append(counts)
            if not given.minutes or not counts.holds:
                sys.stderr.write("\n".join([*schedule.story, f"  {counts}", ""]))
            if time.monotonic() - began >= 60 * (given.minutes or 0):
                break
    return tell(given, "whole", figures(results, given.seed, time.monotonic() - began))


def schedules(stack: ExitStack, folder: Path, first: int) -> Iterator[Any]:
    """One after the other, on a server that they share."""
    from cooperative.collecting import collect_static
    from tests import chromium
    from tests.faults.whole import Schedule, buy
    from tests.serving import GROUND, Server, free_port, make_database

    collect_static()
    ground = make_database(folder / "ground.sqlite3", GROUND)
    server = Server(folder / "server" / "heaps.sqlite3", free_port())
    server.odd.mkdir(parents=True)
    stack.callback(server.kill)
    server.begin_anew(ground)
    player = stack.enter_context(sync_playwright())
    bought = buy(player, server, folder, chromium.program())
    seed = first
    while True:
        yield Schedule(player, server, bought, folder, seed)
        seed += 1


def figures(results: list[Any], first: int, seconds: float) -> list[Figure]:
    """What was truly played, and the counters."""
    told = {"first seed": first, "last seed": first + len(results) - 1, "schedules": len(results)}
    told |= {name: sum(getattr(one, name) for one in results) for name in ("entries", "kills")}
    counters = {name: sum(len(getattr(one, name)) for one in results) for name in COUNTERS}
    return counted("whole phones", told, counters, seconds)


if __name__ == "__main__":
    sys.exit(main())
