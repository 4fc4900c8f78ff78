"""The way of one drop-off as DEVELOPERS.md lists it: from a tap on the phone to the funder's table."""

import re
from pathlib import Path

HOME = Path(__file__).parent.parent
MOST = 8
ROW = re.compile(r"^\| \d \| `(?P<where>[\w./-]+)` \| `(?P<function>\w+)\(\)` \|", re.M)


def hops() -> list[tuple[str, str]]:
    """Where each stands and what it is called, in order."""
    return ROW.findall((HOME / "DEVELOPERS.md").read_text(encoding="utf-8"))


def on_the_phone() -> list[tuple[str, str]]:
    """Those in a module that runs on the phone."""
    return [(where, function) for where, function in hops() if where.endswith(".js")]


def on_the_server() -> list[tuple[str, str]]:
    """Those in Python."""
    return [(where, function) for where, function in hops() if not where.endswith(".js")]
