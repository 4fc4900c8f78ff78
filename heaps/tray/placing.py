"""Entries that were parked: placed by a coordinator, who vouches for them, or left out; none is ever dropped."""

import json
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from heaps import sync, wire
from heaps.ledger.kinds import Correction
from heaps.models import Bay, Entry, Ledger, Parked, Site
from heaps.stewards import Care, care_of
from heaps.tray.said import said
from heaps.tray.told import Ground, Told, claimed, known, name_of, tell
from heaps.wording import refused
from members.models import Member

Settled = Callable[[Parked], sync.Receipt]


@dataclass(frozen=True)
class Place:
    """A bay that a parked entry names: under which name in the form, and which bay it is, if it is known or chosen."""

    field: str
    known: str


@dataclass(frozen=True)
class ToPlace:
    """A parked entry: what it says and about which other one, why it is here, and the bays to choose.

    `fits` says that the ledger knows all its places; `unfit`, that the ledger will not take it as it is. `refused` is
    why it was not taken in just now; `site_chosen` was chosen for it then.
    """

    told: Told
    reason: str
    places: tuple[Place, ...] = ()
    about: Told | None = None
    site: int | None = None
    fits: bool = False
    unfit: bool = False
    refused: str = ""
    site_chosen: str = ""

    def asked_again(self, chosen: Mapping[str, str], refused: str) -> "ToPlace":
        """The same with what was chosen, and why that was not enough."""
        places = (replace(one, known=chosen.get(one.field, one.known)) for one in self.places)
        return replace(self, places=tuple(places), refused=refused, site_chosen=chosen.get("site", ""))


def to_place(rows: Sequence[Parked], ground: Ground, care: Care) -> tuple[ToPlace, ...]:
    """Parked rows in words. What names no known site is for whoever coordinates all of them."""
    meant = {uid for row in rows if (uid := _corrects(row))}
    originals = care.of(Entry.objects.filter(uid__in=meant)).select_related("site", "bay", "person")
    about = tell(list(originals), ground)
    found = (_to_place(row, ground, about) for row in rows)
    return tuple(one for one in found if one.site in care)


def place(parked_uid: uuid.UUID, chosen: Mapping[str, str], person: Member, now: datetime) -> sync.Receipt | None:
    """Take a parked entry into the ledger with the bays that `chosen` names by form field, or with a site.

    It keeps its number, its sender and its times; that it may go in, `person` has decided. If the ledger still
    refuses it, it stays parked. What waits at a site that `person` does not look after, and the bays there, are none
    for `person`.
    """
    care = care_of(person)

    def settle(one: Parked) -> sync.Receipt:
        raw, missing = _placed(json.loads(one.raw), chosen, care)
        if missing:
            return sync.Receipt(str(one.uid), "refused", missing)
        one.placed_at = now
        one.save(update_fields=["placed_at"])
        sending = sync.Sending(person, one.device, sent_at=one.sent_at, received_at=one.received_at,
                               recorded_by={str(one.uid): one.person})  # fmt: skip
        (receipt,) = sync.accept([raw], sending)
        if receipt.state not in ("accepted", "known"):
            transaction.set_rollback(True)
        return receipt

    return _settle(parked_uid, care, settle)


def leave_out(parked_uid: uuid.UUID, person: Member, now: datetime) -> sync.Receipt | None:
    """Decide that a parked entry does not belong in the ledger. It stays here and can be brought back."""

    def settle(one: Parked) -> sync.Receipt:
        one.left_out_at = now
        one.save(update_fields=["left_out_at"])
        return sync.Receipt(str(one.uid), "left out")

    return _settle(parked_uid, care_of(person), settle)


def bring_back(parked_uid: uuid.UUID, person: Member) -> sync.Receipt | None:
    """Let an entry wait again that was left out."""

    def settle(one: Parked) -> sync.Receipt:
        one.left_out_at = None
        one.save(update_fields=["left_out_at"])
        return sync.Receipt(str(one.uid), "waiting")

    return _settle(parked_uid, care_of(person), settle, left_out=True)


def _settle(parked_uid: uuid.UUID, care: Care, settle: Settled, left_out: bool = False) -> sync.Receipt | None:
    """Settle one row, unless somebody else was quicker. None if there is no such row for whoever asks."""
    with transaction.atomic():
        Ledger.objects.select_for_update().first()  # first, as whoever leaves does: else two could wait for each other
        one = Parked.objects.select_for_update().filter(uid=parked_uid).first()
        if one is None or _site_of(one) not in care:
            return None
        if one.placed_at or bool(one.left_out_at) != left_out:
            return sync.Receipt(str(one.uid), "settled before")
        return settle(one)


def _site_of(one: Parked) -> int | None:
    named = json.loads(one.raw).get("site")
    return Site.objects.filter(uid=named).values_list("pk", flat=True).first() if _is_uid(named) else None


def _corrects(one: Parked) -> str | None:
    raw = json.loads(one.raw)
    details = raw.get("details")
    corrects = details.get("corrects") if raw.get("kind") == Correction.kind and isinstance(details, dict) else None
    return corrects if _is_uid(corrects) else None


def _to_place(one: Parked, ground: Ground, about: Mapping[str, Told]) -> ToPlace:
    raw = json.loads(one.raw)
    site = ground.sites.get(str(raw.get("site")))
    told = Told(
        uid=str(one.uid),
        what="",
        site=site.name if site else "",
        time_zone=site.time_zone if site else "UTC",
        at=known(one.sent_at),
        received_at=one.received_at,
        person=name_of(one.person),
        words="",
    )
    found = ToPlace(told, _(one.reason), about=about.get(_corrects(one) or ""), site=site.pk if site else None)
    try:
        wired = wire.read(raw, ground.materials)
    except wire.Refusal as refusal:  # it was fit when it came; the list of what goes in has changed since
        return replace(found, told=replace(told, what=refused(refusal)), unfit=True)
    at = wire.effective_at(wired, one.sent_at, one.received_at)
    by_now = replace(
        told,
        what=said(wired.what, wired.bay, ground.names),
        at=known(at),
        words=wired.words,
        claimed_at=claimed(wired.occurred_at, at),
        by_hand=wired.by_hand,
    )
    bays = [bay for bay, _holder in _bays_in(raw)]
    return replace(
        found,
        told=by_now,
        places=tuple(Place(f"bay-{number}", bay if bay in ground.bays else "") for number, bay in enumerate(bays)),
        fits=site is not None and all(bay in ground.bays and ground.bays[bay].site_id == site.pk for bay in bays),
    )


def _placed(raw: dict[str, Any], chosen: Mapping[str, str], care: Care) -> tuple[dict[str, Any], str]:
    """The raw entry with the chosen bays, or those it names itself; or what is still to be chosen."""
    site = None
    for number, (named, holder) in enumerate(_bays_in(raw)):
        bay = _bay(chosen.get(f"bay-{number}", named), care)
        if bay is None:
            return raw, _("Choose a bay first.")
        holder["bay"], site = str(bay.uid), site or bay.site
    site = site or _site(chosen.get("site", str(raw.get("site"))), care)
    if site is None:
        return raw, _("Choose a site first.")
    raw["site"] = str(site.uid)
    return raw, ""


def _bays_in(raw: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every bay that a raw entry names, with the part of it that names it: its own, a correction's, a turn's."""
    details = raw.get("details") or {}
    inner = details.get("details") or {}
    holders = [raw, details, *(details.get("sources") or []), *(inner.get("sources") or [])]
    for holder in holders:
        if isinstance(holder, dict) and holder.get("bay"):
            yield str(holder["bay"]), holder


def _bay(uid: str, care: Care) -> Bay | None:
    return care.of(Bay.objects.filter(uid=uid)).select_related("site").first() if _is_uid(uid) else None


def _site(uid: str, care: Care) -> Site | None:
    return care.of(Site.objects.filter(uid=uid), "pk").first() if _is_uid(uid) else None


def _is_uid(text: object) -> bool:
    try:
        uuid.UUID(str(text))
    except ValueError:
        return False
    return True
