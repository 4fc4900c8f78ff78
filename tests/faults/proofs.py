"""A pytest plugin that notes what came of each test, and a look at the table of faults after a run of everything.

`manage.py test` without arguments loads it (`-p tests.faults.proofs`) in each of its parts, which leave what they noted
in the folder HEAPS_PROOFS. `python -m tests.faults.proofs FOLDER` then says which test of the table did not run and
pass; what is skipped on one database must have passed on the other. A run of some tests is not judged.
"""

import json
import os
import sys
from pathlib import Path

import pytest

from tests.faults.table import unproved

#: Of what came of one test in several parts, the first of these holds.
WORST_FIRST = ("failed", "passed", "skipped")


class Proofs:
    """Notes what came of each test: the worst of its set-up, its call and what follows it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.outcomes: dict[str, str] = {}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if not report.passed or report.nodeid not in self.outcomes:
            self.outcomes[report.nodeid] = report.outcome

    def pytest_sessionfinish(self) -> None:
        (self.folder / f"{os.getpid()}.json").write_text(json.dumps(self.outcomes))


def pytest_configure(config: pytest.Config) -> None:
    """Under xdist only the process that gathers all reports notes them."""
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(Proofs(Path(os.environ["HEAPS_PROOFS"])), "fault-proofs")


def together(parts: list[dict[str, str]]) -> dict[str, str]:
    """What came of each test in all parts."""
    found: dict[str, str] = {}
    for part in parts:
        for node, outcome in part.items():
            found[node] = min(outcome, found.get(node, outcome), key=WORST_FIRST.index)
    return found


def main(folder: Path) -> int:
    """Say what is not proved."""
    wrong = unproved(together([json.loads(path.read_text()) for path in sorted(folder.glob("*.json"))]))
    sys.stdout.write("\n".join(["\nFaults without proof:", *wrong, ""]) if wrong else "\nEach fault has its proof.\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
