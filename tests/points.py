"""Every point of a piece of work with the database at which a process can be killed: before each statement, before
and after each commit."""

import os
import signal
from collections.abc import Callable
from contextlib import ExitStack
from typing import Any

AFTER_COMMIT = "after COMMIT"


class Points:
    """Passes the points one by one, and dies at the `last`. Zero is never reached: then it only lists them."""

    def __init__(self, connection: Any, last: int = 0) -> None:
        self.connection, self.last = connection, last
        self.passed: list[str] = []

    def __enter__(self) -> "Points":
        self.ends = ExitStack()
        self.ends.enter_context(self.connection.execute_wrapper(self._execute))
        commit = self.connection._commit

        def committed() -> None:
            self._pass("COMMIT")
            commit()
            self._pass(AFTER_COMMIT)

        self.connection._commit = committed
        self.ends.callback(self.connection.__dict__.pop, "_commit")
        return self

    def __exit__(self, *_said: object) -> None:
        self.ends.close()

    def _execute(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        self._pass(sql)
        return execute(sql, params, many, context)

    def _pass(self, point: str) -> None:
        self.passed.append(" ".join(point.split())[:120])
        if len(self.passed) == self.last:
            os.kill(os.getpid(), signal.SIGKILL)
