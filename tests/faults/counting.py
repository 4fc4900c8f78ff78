"""What became of every entry: lost, duplicated, unexpected, stuck. In the manner of Jepsen's `set` and `total-queue`.

lost: a phone said "kept" or "sent", and neither the ledger nor a coordinator's tray nor the phone has it.
duplicated: it stands twice. unexpected: the server has what nobody recorded, or otherwise, or as somebody else's.
stuck: it waits though everything works again.
"""

import json
from collections import Counter
from dataclasses import asdict, dataclass, field
from typing import Any

from heaps import wire
from heaps.models import Entry, Parked, known_materials
from tests.faults.phones import Phone
from tests.faults.world import World

ALL_SENT = "all sent"
#: What the door may refuse though it was recorded well: who may correct what is decided there.
MAY_BE_REFUSED = frozenset({"correction", "opening"})


@dataclass
class Counts:
    """The four counters, what the screens said wrongly, and where the board is not what the ledger gives."""

    lost: list[str] = field(default_factory=list)
    duplicated: list[str] = field(default_factory=list)
    unexpected: list[str] = field(default_factory=list)
    stuck: list[str] = field(default_factory=list)
    untrue: list[str] = field(default_factory=list)
    drift: list[str] = field(default_factory=list)
    entries: int = 0

    @property
    def holds(self) -> bool:
        return not any(value for name, value in asdict(self).items() if name != "entries")


@dataclass
class Book:
    """What is known about the entries of a schedule while it is played."""

    kept: dict[str, dict[str, Any]] = field(default_factory=dict)  # as the phone said it keeps them
    own: set[str] = field(default_factory=set)  # what a coordinator recorded at the server
    spoiled: set[str] = field(default_factory=set)
    erased: set[str] = field(default_factory=set)  # people
    gone: set[str] = field(default_factory=set)  # lost by a restore, and by then on no phone any more
    untrue: list[str] = field(default_factory=list)
    journals: dict[int, set[str]] = field(default_factory=dict)

    def keep(self, record: dict[str, Any]) -> None:
        self.kept[record["uid"]] = record

    def look(self, phone: Phone, seen: dict[str, Any], world: World) -> None:
        """Whatever a phone counts as sent since it was looked at last, the server must have at this moment."""
        for one in seen["waiting"]:
            self.kept.setdefault(one["uid"], one)  # an undoing gets its number in the phone
        journal, held = set(seen["journal"]), world.held()
        fresh = journal - self.journals.get(phone.number, set())
        self.journals[phone.number] = journal
        self.untrue += [f"phone {phone.number} counts {uid} as sent" for uid in fresh - held]
        for uid in fresh - self.kept.keys():
            self.keep(phone.ask(0, "light.record(given)", uid))
        waits = [one for one in seen["waiting"] if not one.get("refused") and not one.get("withdrawn")]
        if ALL_SENT in seen["says"] and waits:
            self.untrue.append(f"phone {phone.number} says {seen['says']!r} while {len(waits)} wait")

    def restored(self, before: set[str], world: World, phones: list[Phone]) -> None:
        """What a restore took from the server and no phone can offer again."""
        on_phones: set[str] = set()
        for phone in phones:
            seen = phone.seen()
            on_phones |= set(seen["journal"]) | {one["uid"] for one in seen["waiting"]}
        self.gone |= before - world.held() - on_phones

    def count(self, phones: list[Phone], world: World) -> Counts:
        """The counters, when all has been healed and drained."""
        counts = Counts(entries=len(self.kept))
        rows = {str(row.uid): row for row in Entry.objects.select_related("bay", "site", "person")}
        parked = {str(one.uid): one for one in Parked.objects.select_related("person")}
        on_phone: set[str] = set()
        for phone in phones:
            seen = phone.seen()
            self.look(phone, seen, world)
            here = {one["uid"]: one for one in phone.ask(0, "light.stored()")}
            counts.stuck += [uid for uid, one in here.items() if self._stuck(one)]
            held = rows.keys() | parked.keys() | here.keys()  # what is offered again waits, and stays in the journal
            counts.lost += [uid for uid in seen["journal"] if uid not in held]
            on_phone |= here.keys()
        counts.untrue = list(self.untrue)
        counts.lost += [
            uid for uid in self.kept if uid not in rows and uid not in parked and uid not in on_phone | self.gone
        ]
        numbers = Counter(str(uid) for uid in Entry.objects.values_list("uid", flat=True))
        numbers.update(str(uid) for uid in Parked.objects.filter(placed_at=None).values_list("uid", flat=True))
        counts.duplicated = [uid for uid, times in numbers.items() if times > 1]
        counts.unexpected = [uid for uid in numbers if uid not in self.kept and uid not in self.own]
        counts.unexpected += [f"{uid}: {why}" for uid, row in rows.items() if (why := self._otherwise(uid, row))]
        counts.unexpected += [
            f"{uid}: {why}" for uid, one in parked.items() if (why := self._parked_otherwise(uid, one))
        ]
        counts.drift = world.disagreements()
        return counts

    def _stuck(self, one: dict[str, Any]) -> bool:
        """Whether an entry waits that should not. What was spoiled may stay, as long as it holds up nothing."""
        if one.get("withdrawn") or one["uid"] in self.spoiled:
            return False
        return not one.get("refused") or one["entry"]["kind"] not in MAY_BE_REFUSED

    def _otherwise(self, uid: str, row: Entry) -> str:
        """How a row of the ledger differs from what its phone kept."""
        if uid not in self.kept or uid in self.spoiled:
            return ""
        entry, person = self.kept[uid]["entry"], self.kept[uid]["person"]
        if row.fingerprint != wire.read(entry, known_materials()).fingerprint:
            return f"it says {row.details}, not {entry['details']}"
        if row.words not in ("", entry["words"]):
            return f"its words are {row.words!r}"
        whose = str(row.person.uid) if row.person else None
        if whose is None and person in self.erased:
            return ""
        return "" if person is None or whose == person else f"it is {whose}'s, not {person}'s"

    def _parked_otherwise(self, uid: str, one: Parked) -> str:
        if uid not in self.kept or uid in self.spoiled:
            return ""
        said, entry = json.loads(one.raw), self.kept[uid]["entry"]
        differs = [name for name in ("kind", "site", "bay", "occurred_at", "details") if said[name] != entry[name]]
        return f"laid aside with another {differs}" if differs else ""
