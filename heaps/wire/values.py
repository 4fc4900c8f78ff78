"""Single values from JSON: numbers within bounds, moments, words, feedstocks; or a refusal in plain words."""

import re
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any, cast

from heaps.ledger.choices import SIGNS
from heaps.ledger.kinds import Share
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.materials import OWN, Materials

MOST_WORDS = 1_000
USUAL_UUID = re.compile("[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
OWN_KEY = re.compile(OWN + "[0-9a-f]{12}")


class Term(str):
    """A word of ours within a refusal. Unlike what somebody sent, it has its own form in each language."""


class Refusal(Exception):
    """An entry that cannot be taken as it is. It says what to do, in plain words.

    Sentence and values stay apart, so that a page can say it in its reader's language (`wording.refused`).
    """

    def __init__(self, says: str, **values: object) -> None:
        super().__init__((says % values).strip())
        self.says, self.values = says, values


def read_moment(raw: object, says: str) -> datetime:
    """An ISO 8601 moment with its offset, as UTC. Raises Refusal."""
    try:
        moment = datetime.fromisoformat(cast(str, raw))
        if moment.tzinfo is None:
            raise ValueError
        return moment.astimezone(UTC)
    except (TypeError, ValueError, OverflowError):
        raise Refusal("Say %(what)s as a date and time, like 2026-05-01T10:00:00Z.", what=Term(says)) from None


def read_uid(raw: object, says: str) -> str:
    """A UUID in its one usual form, because the phone looks for its receipt by the number as it wrote it.

    Raises Refusal.
    """
    if not isinstance(raw, str) or not USUAL_UUID.fullmatch(raw):
        raise Refusal("Cannot tell %(what)s. Please record it again.", what=Term(says))
    return raw


def read_words(raw: object) -> str:
    """Free words, without characters that no database keeps. Raises Refusal."""
    if not isinstance(raw, str):
        raise Refusal("The words with this entry are not text. Please write them again.")
    words = raw.replace("\x00", "").encode("utf-8", "replace").decode().strip()
    if len(words) > MOST_WORDS:
        raise Refusal(
            "Please keep the words under %(most)s letters. These are %(found)s.", most=MOST_WORDS, found=len(words)
        )
    return words


def read_whole(raw: object, least: int, most: int, says: str) -> int:
    """A whole number within bounds; true, 1.5, "3" and NaN are none. Raises Refusal."""
    if type(raw) is not int:
        raise Refusal(
            "Say %(what)s as a whole number, like %(like)s, not %(found)s.",
            what=Term(says),
            like=max(least, 1),
            found=shown(raw),
        )
    if not least <= raw <= most:
        raise Refusal(
            "Say %(what)s, from %(least)s to %(most)s, not %(found)s.",
            what=Term(says),
            least=least,
            most=most,
            found=shown(raw),
        )
    return raw


def read_feedstock(key: str, materials: Materials) -> str:
    """The key of a feedstock that may go in by the published list. Raises Refusal.

    Where a cooperative is stricter itself, a phone may not have known it: that is asked about, not refused.
    """
    if materials.listed[known_feedstock(key, materials)].acceptance == "never":
        stuff = materials[key]
        raise Refusal(
            "%(material)s never goes in. %(instead)s", material=Term(stuff.short), instead=Term(stuff.instead)
        )
    return key


def known_feedstock(key: str, materials: Materials) -> str:
    """The key of a feedstock that the cooperative has. Raises Refusal."""
    if key not in materials.known:
        raise Refusal("%(found)s is not on the list of what goes in. Choose it from the list.", found=shown(key))
    return key


def _feedstock(raw: object, says: str = "") -> str:
    """A key of the table, or one that can be an own material's: which of these there are is asked at the door."""
    if not isinstance(raw, str) or (raw not in FEEDSTOCKS and not OWN_KEY.fullmatch(raw)):
        raise Refusal("%(found)s is not on the list of what goes in. Choose it from the list.", found=shown(raw))
    return raw


def read_yes_or_no(raw: object) -> bool:
    if not isinstance(raw, bool):
        raise Refusal("Cannot tell whether the date was typed in. Please record it again.")
    return raw


def reader_of(one: Any) -> Callable[[object], Any]:
    """How a field's values are read: by the check written beside it."""
    check = CHECKS[one.metadata["check"]]
    # by position, which is quicker: `ledger.checks` writes them in the order in which each check takes them
    said = [value for name, value in one.metadata.items() if name not in ("check", "optional")]
    return lambda raw: check(raw, *said)


def _word(raw: object, choices: tuple[str, ...], says: str) -> str:
    if not isinstance(raw, str) or raw not in choices:
        raise Refusal("Choose %(what)s from: %(words)s.", what=Term(says), words=", ".join(choices))
    return raw


def _label(raw: object, says: str) -> str:
    if not isinstance(raw, str) or not 1 <= len(raw) <= 20 or not raw.isprintable():
        raise Refusal("Keep %(what)s to 20 plain letters.", what=Term(says))
    return raw


def _signs(raw: object, says: str) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(sign, str) and sign in SIGNS for sign in raw):
        raise Refusal("Choose %(what)s from: %(words)s.", what=Term(says), words=", ".join(SIGNS))
    return tuple(sorted(set(raw)))


def _shares(raw: object, says: str) -> tuple[Share, ...]:
    if not isinstance(raw, list) or not 1 <= len(raw) <= 20:
        raise Refusal("Say which bays were turned.")
    shares = []
    for one in raw:
        if not isinstance(one, dict):
            raise Refusal("Say which bays were turned, and how much of each.")
        per_cent = read_whole(one.get("per_cent", 100), 1, 100, "the share of a bay in per cent")
        shares.append(Share(read_uid(one.get("bay"), "which bay was turned"), per_cent))
    if len({share.bay for share in shares}) < len(shares):
        raise Refusal("A bay stands twice in this turn. Name each bay once.")
    return tuple(sorted(shares, key=lambda share: share.bay))


def _make_up(raw: object, says: str) -> tuple[tuple[str, int], ...]:
    if not isinstance(raw, list) or not 1 <= len(raw) <= 20:
        raise Refusal("Say roughly what the heap is made of.")
    parts: dict[str, int] = {}
    for one in raw:
        if not isinstance(one, list) or len(one) != 2:
            raise Refusal("Say what the heap is made of, and how much of it in per cent.")
        feedstock = _feedstock(one[0])
        parts[feedstock] = parts.get(feedstock, 0) + read_whole(one[1], 1, 100, "the share in per cent")
    if sum(parts.values()) != 100:
        raise Refusal("The shares must make 100 per cent together. These make %(sum)s.", sum=sum(parts.values()))
    return tuple(sorted(parts.items()))


def shown(raw: object) -> str:
    """What was sent, short enough to print in a reason."""
    text = str(raw) if not isinstance(raw, int) or abs(raw) < 10**12 else "that"
    return text if len(text) <= 40 else f"{text[:40]}..."


CHECKS: dict[str, Callable[..., Any]] = {
    "whole": read_whole,
    "uid": read_uid,
    "feedstock": _feedstock,
    "word": _word,
    "label": _label,
    "signs": _signs,
    "shares": _shares,
    "make_up": _make_up,
}
#: Checks of what is a list in JSON.
LISTED = frozenset({"signs", "shares", "make_up"})
