"""One entry from its JSON, and what a stored one is known by."""

import hashlib
import json
import uuid
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

import orjson

from heaps.ledger.kinds import KINDS, NEEDS_BAY, Correction, Dropoff, Kind, Turn, brought
from heaps.science.materials import Materials
from heaps.wire.details import read_details
from heaps.wire.values import (
    Refusal,
    known_feedstock,
    read_feedstock,
    read_moment,
    read_uid,
    read_words,
    read_yes_or_no,
    shown,
)

WIRE = 1
MOST_ENTRIES = 50


@dataclass(slots=True, eq=False)
class Wired:
    """An entry as it came over the wire, checked, its bays not yet looked up.

    `bays` are all that it names, also inside a turn or a correction.
    `occurred` is its moment in ISO 8601 and `written` its details in JSON: each is written once, for the fingerprint
    and for the row, because writing costs as much as reading.
    """

    uid: str
    kind: str
    site: str
    bay: str | None
    bays: Collection[str]
    occurred_at: datetime
    occurred: str
    by_hand: bool
    what: Kind
    details: dict[str, Any]
    written: str
    words: str
    donor: str | None
    fingerprint: str


def fingerprint_of(
    uid: str, kind: str, where: tuple[str, str | None], occurred: str, by_hand: bool, written: str
) -> str:
    """What a stored entry is known by: neither who recorded or gave it nor the free words are in it.

    SHA-256 of a JSON list: number, kind, `where` as site and bay, moment, whether it was typed in, and the details as
    `in_one_form` wrote them. None of the others holds a letter that JSON would write otherwise.
    """
    site, bay = where
    at, typed_in = f'"{bay}"' if bay else "null", "true" if by_hand else "false"
    said = f'["{uid}","{kind}","{site}",{at},"{occurred}",{typed_in},{written}]'
    return hashlib.sha256(said.encode()).hexdigest()


def read(raw: object, materials: Materials) -> Wired:
    """One entry from its JSON, by the materials that the cooperative has. Raises Refusal."""
    if not isinstance(raw, dict):
        raise Refusal("This entry cannot be read. Please record it again.")
    if type(raw.get("wire")) is not int or raw["wire"] > WIRE:
        raise Refusal(
            "This entry was written by a newer page than the cooperative's computer knows. "
            "Keep it here and try again in a few days."
        )
    kind = raw.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise Refusal("There is no such kind of entry as %(found)s. Please record it again.", found=shown(kind))
    bay = None if raw.get("bay") is None else read_uid(raw["bay"], "which bay")
    if kind in NEEDS_BAY and bay is None:
        raise Refusal("This entry needs a bay. Correct it and say which one.")
    what, details = read_details(kind, raw.get("details"))
    _ask_materials(what, materials)
    uid = read_uid(raw.get("uid"), "the entry's own number")
    site = read_uid(raw.get("site"), "which site")
    occurred_at = read_moment(raw.get("occurred_at"), "when it happened")
    by_hand = read_yes_or_no(raw.get("by_hand", False))
    occurred, written = occurred_at.isoformat(), in_one_form(details)
    return Wired(
        uid=uid,
        kind=kind,
        site=site,
        bay=bay,
        bays=_bays(bay, what),
        occurred_at=occurred_at,
        occurred=occurred,
        by_hand=by_hand,
        what=what,
        details=details,
        written=written,
        words=read_words(raw.get("words", "")),
        donor=_donor(raw.get("donor")) if kind == Dropoff.kind else None,
        fingerprint=fingerprint_of(uid, kind, (site, bay), occurred, by_hand, written),
    )


def _bays(bay: str | None, what: Kind) -> Collection[str]:
    own = (bay,) if bay else ()
    if isinstance(what, Correction):
        return {*own, *_bays(what.bay, what.what)} if what.what else {*own}
    return {*own, *(share.bay for share in what.sources)} if isinstance(what, Turn) else own


def in_one_form(details: Mapping[str, Any]) -> str:
    """Details as JSON in the one form that fingerprints are made of: keys sorted, nothing between, all in ASCII."""
    try:
        quick = orjson.dumps(details, option=orjson.OPT_SORT_KEYS)
    except orjson.JSONEncodeError:  # a number that no entry holds, in a row that somebody changed
        quick = b"null"
    # what the two write differently: letters beyond ASCII, DEL, and infinity, which is null to orjson
    if quick.isascii() and b"null" not in quick and b"\x7f" not in quick:
        return quick.decode()
    return json.dumps(details, sort_keys=True, separators=(",", ":"))


def _ask_materials(what: Kind, materials: Materials) -> None:
    """Asked here only: what is in the ledger stays, whatever the list says later."""
    if loads := brought(what):
        for feedstock in loads:
            read_feedstock(feedstock, materials)
    elif named := getattr(what.what if isinstance(what, Correction) else what, "feedstock", None):
        known_feedstock(named, materials)


def _donor(raw: object) -> str | None:
    """Who gave a load. It is only a remark beside the load, so what cannot be read costs nobody their entry."""
    if raw is None:
        return None
    try:
        return str(uuid.UUID(cast(str, raw)))
    except (AttributeError, TypeError, ValueError):
        return None
