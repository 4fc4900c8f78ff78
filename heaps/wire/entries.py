"""One entry from its JSON, and what a stored one is known by."""

import hashlib
import json
import uuid
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any, cast

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
IN_ONE_FORM = json.JSONEncoder(sort_keys=True, separators=(",", ":")).encode


@dataclass
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

    @cached_property
    def number(self) -> uuid.UUID:
        """Its uid as a database takes it."""
        return uuid.UUID(self.uid)

    @cached_property
    def bays(self) -> set[str]:
        """Every bay it names, also inside a turn or a correction."""
        said = self.what.what if isinstance(self.what, Correction) else self.what
        named = (self.bay, self.what.bay) if isinstance(self.what, Correction) else (self.bay,)
        sources = [share.bay for share in said.sources] if isinstance(said, Turn) else ()
        return {uid for uid in (*named, *sources) if uid}

    @cached_property
    def fingerprint(self) -> str:
        """What a stored entry is known by: neither who recorded or gave it nor the free words are in it."""
        return fingerprint_of(
            self.uid, self.kind, self.site, self.bay, self.occurred_at.isoformat(), self.by_hand, self.details
        )


def fingerprint_of(*said: object) -> str:
    """SHA-256 of what was recorded: number, kind, site, bay, moment, whether typed in, details."""
    return hashlib.sha256(IN_ONE_FORM(said).encode()).hexdigest()


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
    return Wired(
        uid=read_uid(raw.get("uid"), "the entry's own number"),
        kind=kind,
        site=read_uid(raw.get("site"), "which site"),
        bay=bay,
        occurred_at=read_moment(raw.get("occurred_at"), "when it happened"),
        by_hand=read_yes_or_no(raw.get("by_hand", False)),
        what=what,
        details=details,
        words=read_words(raw.get("words", "")),
        donor=_donor(raw.get("donor")) if kind == Dropoff.kind else None,
    )


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
