"""Fields of an entry with the bounds that the wire checks, written beside them."""

from dataclasses import field
from typing import Any


def whole(least: int, most: int, says: str) -> Any:
    """A whole number from `least` to `most`; `says` names it in a refusal."""
    return field(metadata={"check": "whole", "least": least, "most": most, "says": says})


def maybe_whole(least: int, most: int, says: str) -> Any:
    """A whole number, or nothing."""
    return field(
        default=None,
        metadata={"check": "whole", "least": least, "most": most, "says": says, "optional": True},
    )


def word(choices: tuple[str, ...], says: str) -> Any:
    """One of `choices`."""
    return field(metadata={"check": "word", "choices": choices, "says": says})


def maybe_word(choices: tuple[str, ...], says: str) -> Any:
    """One of `choices`, or nothing."""
    return field(default=None, metadata={"check": "word", "choices": choices, "says": says, "optional": True})


def special(check: str, says: str) -> Any:
    """A field with a check of its own in the wire: a feedstock, a uid, a list of these."""
    return field(metadata={"check": check, "says": says})


def maybe_special(check: str, says: str) -> Any:
    """Such a field, or nothing."""
    return field(default=None, metadata={"check": check, "says": says, "optional": True})


def maybe_several(check: str, says: str) -> Any:
    """Several such values, or none."""
    return field(default=(), metadata={"check": check, "says": says, "optional": True})
