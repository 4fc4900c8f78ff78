"""A pytest plugin that notes what came of each test, and looks at the table of faults after a run of everything.

`manage.py test` without arguments loads it (`-p tests.faults.proofs`) in each of its parts, which leave what they noted
in the folder HEAPS_PROOFS. The last part (HEAPS_LAST_PART) then says which test of the table did not run and pass, and
fails; what is left out on one database must have passed on the other. A run of some tests is not judged.
"""

import json
import os
from pathlib import Path

import pytest

from tests.faults.table import unproved

#: Of what came of one test in several parts, the first of these holds.
WORST_FIRST = ("failed", "passed", "skipped")


class Proofs:
    """Notes what came of each test: the worst of its set-up, its call and what follows it."""

    def __init__(self, folder: Path, last: bool) -> None:
        self.folder, self.last = folder, last
        self.outcomes: dict[str, str] = {}
        self.wrong: list[str] = []

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if not report.passed or report.nodeid not in self.outcomes:
            self.outcomes[report.nodeid] = report.outcome

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        (self.folder / f"{os.getpid()}.json").write_text(json.dumps(self.outcomes))
        if self.last:
            self.wrong = judged(self.folder)
            session.exitstatus = session.exitstatus or int(bool(self.wrong))

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        """Before pytest's own last line."""
        if self.last:
            told = ["Faults without proof:", *self.wrong] if self.wrong else ["Each fault has its proof."]
            for line in told:
                terminalreporter.write_line(line)


def pytest_configure(config: pytest.Config) -> None:
    """Under xdist only the process that gathers all reports notes them."""
    if not hasattr(config, "workerinput"):
        last = "HEAPS_LAST_PART" in os.environ
        config.pluginmanager.register(Proofs(Path(os.environ["HEAPS_PROOFS"]), last), "fault-proofs")


def judged(folder: Path) -> list[str]:
    """What is not proved by all parts together."""
    return unproved(together([json.loads(path.read_text()) for path in sorted(folder.glob("*.json"))]))


def together(parts: list[dict[str, str]]) -> dict[str, str]:
    """What came of each test in all parts."""
    found: dict[str, str] = {}
    for part in parts:
        for node, outcome in part.items():
            found[node] = min(outcome, found.get(node, outcome), key=WORST_FIRST.index)
    return found
