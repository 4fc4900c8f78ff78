"""Why a file or a line stays out: a sentence and its values apart, so that a page can say it in its reader's language.

Beside the lines it is kept as JSON. `wording.refused` says it.
"""

import json
from typing import Any

from heaps.wire import Refusal, Term


class BadCell(Refusal):
    """A cell that cannot be understood. It says why and what to write, in plain words."""


class Unreadable(Refusal):
    """The file as a whole cannot be read. It says why, in plain words."""


def kept(reason: Refusal) -> str:
    """A reason as it is kept."""
    return json.dumps(_plain(reason))


def read(text: str) -> Refusal:
    """A reason that was kept."""
    return _reason(json.loads(text))


def _plain(reason: Refusal) -> dict[str, Any]:
    return {"says": reason.says, "values": {name: _plain_value(one) for name, one in reason.values.items()}}


def _plain_value(value: object) -> Any:
    if isinstance(value, Refusal):
        return _plain(value)
    return {"term": value} if isinstance(value, Term) else value


def _reason(plain: dict[str, Any]) -> Refusal:
    return Refusal(plain["says"], **{name: _value(one) for name, one in plain["values"].items()})


def _value(plain: Any) -> Any:
    if not isinstance(plain, dict):
        return plain
    return Term(plain["term"]) if "term" in plain else _reason(plain)
