"""What the log must not hold: an address that lets somebody in."""

import logging
import re

#: The addresses that are secrets themselves: members/urls.py.
SECRET = re.compile(r"(/(?:join|come-in|set-up/first)/)[^/\s?]+")


class WithoutSecrets(logging.Filter):
    """Shortens such addresses in whatever is written down."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg = SECRET.sub(r"\1...", record.getMessage())
        record.args = ()
        return True
