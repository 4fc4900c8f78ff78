"""What the log must not hold: an address that lets somebody in, and a line that somebody else wrote."""

import logging
import re
from typing import Any

#: The addresses that are secrets themselves: members/urls.py.
SECRET = re.compile(r"(/(?:join|come-in|set-up/first)/)[^/\s?]+")


class WithoutSecrets(logging.Filter):
    """Shortens such addresses in whatever is written down."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg = SECRET.sub(r"\1...", record.getMessage())
        record.args = ()
        return True


class OneLine(logging.Formatter):
    """One event is one line, whatever a name or an address holds. A traceback follows it, set in."""

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802 - logging's own name
        return _printable(super().formatMessage(record))

    def formatException(self, info: Any) -> str:  # noqa: N802 - logging's own name
        lines = SECRET.sub(r"\1...", super().formatException(info)).split("\n")
        return "\n".join(f"  {_printable(line)}" for line in lines)


def _printable(text: str) -> str:
    """Ends of lines, and what a screen takes for an order, as their numbers."""
    return "".join(one if one.isprintable() else one.encode("unicode_escape").decode() for one in text)
