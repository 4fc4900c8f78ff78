"""The kinds' own fields, and what a correction says, from JSON and back."""

from collections.abc import Callable, Set
from dataclasses import MISSING, fields
from typing import Any

from heaps.ledger.kinds import KINDS, NEEDS_BAY, Correction, Kind, Share
from heaps.wire.values import LISTED, Refusal, read_moment, read_uid, reader_of, shown

#: By kind: how each of its fields is read, and those that must be said; and the kinds that say more than plain values.
#: What a correction says is read by itself.
SHAPES = {kind: shape for kind, shape in KINDS.items() if kind != Correction.kind}
READERS = {kind: {one.name: reader_of(one) for one in fields(shape)} for kind, shape in SHAPES.items()}
LISTS = {kind for kind, shape in SHAPES.items() if any(one.metadata["check"] in LISTED for one in fields(shape))}
NEEDED = {kind: {one.name for one in fields(shape) if one.default is MISSING} for kind, shape in SHAPES.items()}


def read_details(kind: str, raw: object) -> tuple[Kind, dict[str, Any]]:
    """The kind's own fields, and the same in the plain form that is stored. Raises Refusal."""
    if not isinstance(raw, dict):
        raise Refusal("This entry has no details. Please record it again.")
    if kind == Correction.kind:
        return _correction(raw)
    readers, needed = READERS[kind], NEEDED[kind]
    _nothing_strange(raw, readers.keys())
    values = {
        name: read(value) for name, read in readers.items() if (value := raw.get(name)) is not None or name in needed
    }
    what = KINDS[kind](**values)
    if fits := FITS.get(kind):
        fits(what)
    if kind in LISTS:
        values = {name: _plain(value) for name, value in values.items() if value != ()}
    return what, values


def stored_details(kind: str, details: dict[str, Any]) -> Kind:
    """What a stored row says. It was checked when it came, and a replay reads thousands."""
    if kind == Correction.kind or any(isinstance(value, list) for value in details.values()):
        return read_details(kind, details)[0]
    what: Kind = KINDS[kind](**details)
    return what


def _says_something(what: Any) -> None:
    if not (what.squeeze or what.signs) and what.temp_tenths_c is None and what.fill_per_cent is None:
        raise Refusal("This reading is empty. Say at least one thing that you saw or measured.")


def _did_what_it_says(what: Any) -> None:
    if (what.says == "done") != (what.did is not None):
        raise Refusal("Say what was done about the sign, or that it was only looked at.")


def _weighs_something(what: Any) -> None:
    if what.full_g <= what.empty_g:
        raise Refusal("Full it must weigh more than empty. Look at the two weights again.")


def _counts_fit(what: Any) -> None:
    """Seeds are counted in both pots or in none, and no more come up than were sown."""
    pots = [(what.sown, what.came_up), (what.control_sown, what.control_up)]
    numbers = [number for pot in pots for number in pot]
    if any(number is None for number in numbers) != all(number is None for number in numbers):
        raise Refusal("Say for both pots how many seeds were sown and how many came up.")
    if any(sown is not None and up > sown for sown, up in pots):
        raise Refusal("No more seeds can come up than were sown. Look at the numbers again.")


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


def _nothing_strange(raw: dict[str, Any], known: Set[str]) -> None:
    if not raw.keys() <= known:
        strange = sorted(raw.keys() - known)
        raise Refusal("This entry says something unknown: %(found)s. Please record it again.", found=shown(strange[0]))


def _plain(value: Any) -> Any:
    if isinstance(value, (str, int)):
        return value
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return {"bay": value.bay, "per_cent": value.per_cent} if isinstance(value, Share) else value


#: What the fields of a kind must say together.
FITS: dict[str, Callable[[Any], None]] = {
    "reading": _says_something,
    "sign": _did_what_it_says,
    "verdict": _counts_fit,
    "weighing": _weighs_something,
}
