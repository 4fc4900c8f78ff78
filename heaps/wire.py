"""The wire: JSON from a phone becomes an entry, or a refusal in plain words.

Nothing here knows a database: whether a bay exists is asked of the caller. Every number is checked
against the bounds written beside the fields in `ledger.kinds`.
"""

import hashlib
import json
import uuid
from collections.abc import Callable
from dataclasses import MISSING, dataclass, fields
from datetime import UTC, datetime, timedelta
from typing import Any, cast

from heaps.ledger.choices import SIGNS
from heaps.ledger.kinds import KINDS, NEEDS_BAY, Correction, Dropoff, Kind, Share, brought
from heaps.science.feedstocks import FEEDSTOCKS

WIRE = 1
MOST_ENTRIES = 50
MOST_WORDS = 1_000
CLOCK_GRACE = timedelta(minutes=10)
OLD = timedelta(days=60)
OLDEST = datetime(1990, 1, 1, tzinfo=UTC)


class Refusal(Exception):
    """An entry that cannot be taken as it is. The message says what to do, in plain words."""


@dataclass(frozen=True)
class Wired:
    """An entry as it came over the wire, checked, its bays not yet looked up."""

    uid: str
    kind: str
    site: str
    bay: str | None
    occurred_at: datetime
    by_hand: bool
    what: Kind
    details: dict[str, Any]
    words: str
    donor: str | None = None

    @property
    def fingerprint(self) -> str:
        """SHA-256 of what was recorded: neither of who recorded or gave it nor of the free words."""
        said = [
            self.uid,
            self.kind,
            self.site,
            self.bay,
            self.occurred_at.isoformat(),
            self.by_hand,
            self.details,
        ]
        return hashlib.sha256(json.dumps(said, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


def read(raw: object) -> Wired:
    """One entry from its JSON. Raises Refusal."""
    if not isinstance(raw, dict):
        raise Refusal("This entry cannot be read. Please record it again.")
    if type(raw.get("wire")) is not int or raw["wire"] > WIRE:
        raise Refusal(
            "This entry was written by a newer page than the cooperative's computer knows. "
            "Keep it here and try again in a few days."
        )
    kind = raw.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise Refusal(f"There is no such kind of entry as {_shown(kind)}. Please record it again.")
    bay = None if raw.get("bay") is None else read_uid(raw["bay"], "which bay")
    if kind in NEEDS_BAY and bay is None:
        raise Refusal("This entry needs a bay. Correct it and say which one.")
    what, details = read_details(kind, raw.get("details"))
    for feedstock in brought(what):  # asked here only: what is in the ledger stays, whatever the list says later
        read_feedstock(feedstock)
    return Wired(
        uid=read_uid(raw.get("uid"), "the entry's own number"),
        kind=kind,
        site=read_uid(raw.get("site"), "which site"),
        bay=bay,
        occurred_at=read_moment(raw.get("occurred_at"), "when it happened"),
        by_hand=_yes_or_no(raw.get("by_hand", False)),
        what=what,
        details=details,
        words=read_words(raw.get("words", "")),
        donor=_donor(raw.get("donor")) if kind == Dropoff.kind else None,
    )


def read_details(kind: str, raw: object) -> tuple[Kind, dict[str, Any]]:
    """The kind's own fields, and the same in the plain form that is stored. Raises Refusal."""
    if not isinstance(raw, dict):
        raise Refusal("This entry has no details. Please record it again.")
    if kind == Correction.kind:
        return _correction(raw)
    shape = KINDS[kind]
    _nothing_strange(raw, {one.name for one in fields(shape)})
    values = {one.name: _value(one, raw.get(one.name)) for one in fields(shape)}
    if (
        kind == "reading"
        and not any(values[name] for name in ("squeeze", "signs"))
        and not any(values[name] is not None for name in ("temp_tenths_c", "fill_per_cent"))
    ):
        raise Refusal("This reading is empty. Say at least one thing that you saw or measured.")
    if kind == "weighing" and values["full_g"] <= values["empty_g"]:
        raise Refusal("Full it must weigh more than empty. Look at the two weights again.")
    return shape(**values), {name: _plain(value) for name, value in values.items() if value not in (None, ())}


def effective_at(wired: Wired, sent_at: datetime, received_at: datetime) -> datetime:
    """When it happened: the phone's time, set right by the error its clock showed when it sent.

    A date typed in by hand is kept. Never later than `received_at`, never before 1990.
    """
    return max(OLDEST, min(_happened_at(wired, sent_at, received_at), received_at))


def date_doubt(wired: Wired, sent_at: datetime, received_at: datetime) -> str:
    """Why a date is unlikely, in plain words, or nothing. The entry is taken all the same."""
    happened_at = _happened_at(wired, sent_at, received_at)
    if happened_at > received_at + CLOCK_GRACE:
        return "It is dated in the future."
    if not wired.by_hand and received_at - happened_at > OLD:
        return "It is dated more than 60 days before it arrived."
    if wired.by_hand and happened_at < OLDEST:
        return "It is dated before 1990."
    return ""


def _happened_at(wired: Wired, sent_at: datetime, received_at: datetime) -> datetime:
    try:
        return wired.occurred_at if wired.by_hand else wired.occurred_at + (received_at - sent_at)
    except OverflowError:  # a clock thousands of years wrong
        return OLDEST if wired.occurred_at < received_at else received_at + OLD


def read_moment(raw: object, says: str) -> datetime:
    """An ISO 8601 moment with its offset, as UTC. Raises Refusal."""
    try:
        moment = datetime.fromisoformat(cast(str, raw))
        if moment.tzinfo is None:
            raise ValueError
        return moment.astimezone(UTC)
    except (TypeError, ValueError, OverflowError):
        raise Refusal(f"Say {says} as a date and time, like 2026-05-01T10:00:00Z.") from None


def read_uid(raw: object, says: str) -> str:
    """A UUID in its one usual form. Raises Refusal."""
    try:
        uid = str(uuid.UUID(cast(str, raw)))
        if uid != raw:  # the phone looks for its receipt by the number as it wrote it
            raise ValueError
        return uid
    except (AttributeError, TypeError, ValueError):
        raise Refusal(f"Cannot tell {says}. Please record it again.") from None


def _donor(raw: object) -> str | None:
    """Who gave a load. It is only a remark beside the load, so what cannot be read costs nobody their entry."""
    try:
        return str(uuid.UUID(cast(str, raw)))
    except (AttributeError, TypeError, ValueError):
        return None


def read_words(raw: object) -> str:
    """Free words, without characters that no database keeps. Raises Refusal."""
    if not isinstance(raw, str):
        raise Refusal("The words with this entry are not text. Please write them again.")
    words = raw.replace("\x00", "").encode("utf-8", "replace").decode().strip()
    if len(words) > MOST_WORDS:
        raise Refusal(f"Please keep the words under {MOST_WORDS} characters. These are {len(words)}.")
    return words


def read_whole(raw: object, least: int, most: int, says: str) -> int:
    """A whole number within bounds; true, 1.5, "3" and NaN are none. Raises Refusal."""
    if type(raw) is not int:
        raise Refusal(f"{says[0].upper()}{says[1:]} must be a whole number, like {max(least, 1)}, not {_shown(raw)}.")
    if not least <= raw <= most:
        raise Refusal(f"{says[0].upper()}{says[1:]} must be from {least} to {most}, not {_shown(raw)}.")
    return raw


def read_feedstock(raw: object) -> str:
    """The key of a feedstock that may go in. Raises Refusal."""
    key = _feedstock(raw)
    if FEEDSTOCKS[key].acceptance == "never":
        raise Refusal(f"{FEEDSTOCKS[key].short} never goes in. {FEEDSTOCKS[key].instead}".strip())
    return key


def _feedstock(raw: object) -> str:
    if not isinstance(raw, str) or raw not in FEEDSTOCKS:
        raise Refusal(f"{_shown(raw)} is not on the list of what goes in. Choose it from the list.")
    return raw


def _correction(raw: dict[str, Any]) -> tuple[Correction, dict[str, Any]]:
    corrects = read_uid(raw.get("corrects"), "which entry to correct")
    says = raw.get("says")
    known = {"corrects", "says"} | ({"kind", "bay", "occurred_at", "details"} if says == "instead" else set())
    _nothing_strange(raw, known)
    if says in ("withdraw", "stands"):
        return Correction(corrects, says), {"corrects": corrects, "says": says}
    if says != "instead":
        raise Refusal("Say whether to withdraw the entry, to change it, or that it stands.")
    kind = raw.get("kind")
    if not isinstance(kind, str) or kind not in KINDS or kind == Correction.kind:
        raise Refusal("A correction cannot be corrected. Correct the first entry again.")
    what, details = read_details(kind, raw.get("details"))
    bay = None if raw.get("bay") is None else read_uid(raw["bay"], "which bay")
    if kind in NEEDS_BAY and bay is None:
        raise Refusal("This correction needs a bay. Say which one.")
    at = None if raw.get("occurred_at") is None else read_moment(raw["occurred_at"], "when it happened")
    plain = {"corrects": corrects, "says": says, "kind": kind, "bay": bay, "details": details}
    return Correction(corrects, says, bay, at, what), {**plain, "occurred_at": at.isoformat() if at else None}


def _nothing_strange(raw: dict[str, Any], known: set[str]) -> None:
    if strange := sorted(set(raw) - known):
        raise Refusal(f"This entry says something unknown: {_shown(strange[0])}. Please record it again.")


def _value(one: Any, raw: object) -> Any:
    """A field's value by the check written beside it."""
    meta = one.metadata
    if raw is None and meta.get("optional"):
        return None if one.default is MISSING else one.default
    check: Callable[[object, Any], Any] = CHECKS[meta["check"]]
    return check(raw, meta)


def _word(raw: object, meta: Any) -> str:
    if not isinstance(raw, str) or raw not in meta["choices"]:
        raise Refusal(f"Choose {meta['says']} from: {', '.join(meta['choices'])}.")
    return raw


def _label(raw: object, meta: Any) -> str:
    if not isinstance(raw, str) or not 1 <= len(raw) <= 20 or not raw.isprintable():
        raise Refusal(f"Keep {meta['says']} to 20 plain characters.")
    return raw


def _signs(raw: object, meta: Any) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(sign, str) and sign in SIGNS for sign in raw):
        raise Refusal(f"Choose {meta['says']} from: {', '.join(SIGNS)}.")
    return tuple(sorted(set(raw)))


def _shares(raw: object, meta: Any) -> tuple[Share, ...]:
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


def _make_up(raw: object, meta: Any) -> tuple[tuple[str, int], ...]:
    if not isinstance(raw, list) or not 1 <= len(raw) <= 20:
        raise Refusal("Say roughly what the heap is made of.")
    parts: dict[str, int] = {}
    for one in raw:
        if not isinstance(one, list) or len(one) != 2:
            raise Refusal("Say what the heap is made of, and how much of it in per cent.")
        feedstock = _feedstock(one[0])
        parts[feedstock] = parts.get(feedstock, 0) + read_whole(one[1], 1, 100, "the share in per cent")
    if sum(parts.values()) != 100:
        raise Refusal(f"The shares must make 100 per cent together. These make {sum(parts.values())}.")
    return tuple(sorted(parts.items()))


def _yes_or_no(raw: object) -> bool:
    if not isinstance(raw, bool):
        raise Refusal("Cannot tell whether the date was typed in. Please record it again.")
    return raw


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return {"bay": value.bay, "per_cent": value.per_cent} if isinstance(value, Share) else value


def _shown(raw: object) -> str:
    """What was sent, short enough to print in a reason."""
    text = str(raw) if not isinstance(raw, int) or abs(raw) < 10**12 else "that"
    return text if len(text) <= 40 else f"{text[:40]}..."


CHECKS: dict[str, Callable[[object, Any], Any]] = {
    "whole": lambda raw, meta: read_whole(raw, meta["least"], meta["most"], meta["says"]),
    "uid": lambda raw, meta: read_uid(raw, meta["says"]),
    "feedstock": lambda raw, meta: _feedstock(raw),
    "word": _word,
    "label": _label,
    "signs": _signs,
    "shares": _shares,
    "make_up": _make_up,
}
