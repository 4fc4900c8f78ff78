"""A pytest plugin for a run of everything: each test that the table of faults names must have run and passed.

`manage.py test` without arguments loads it (`-p tests.faults.proofs`). A run of some tests does not, and is not judged.
"""

from collections.abc import Iterator

import pytest

from tests.faults.table import unproved


class Proofs:
    """Notes what came of each test, and looks at the table at the end."""

    def __init__(self) -> None:
        self.outcomes: dict[str, str] = {}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        worst = self.outcomes.get(report.nodeid, "passed")
        self.outcomes[report.nodeid] = worst if report.passed else report.outcome

    @pytest.hookimpl(wrapper=True)
    def pytest_sessionfinish(self, session: pytest.Session) -> Iterator[None]:
        yield
        self.wrong = unproved(self.outcomes)
        if self.wrong and session.exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if self.wrong:
            terminalreporter.section("faults without proof")
            for line in self.wrong:
                terminalreporter.line(line)


def pytest_configure(config: pytest.Config) -> None:
    """Under xdist only the process that gathers all reports looks."""
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(Proofs(), "fault-proofs")
