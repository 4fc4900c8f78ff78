"""A cooperative with two phones as a model has them: what each holds, sends and hears, and what was acknowledged."""

import random
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis.stateful import RuleBasedStateMachine

from heaps.models import Bay, Site
from heaps.sync import Receipt, Sending, accept, epoch, hand_in
from members.models import Cooperative, Member

BEGINS = datetime(2026, 5, 1, 8, tzinfo=UTC)
JOURNAL = timedelta(days=35)
NAMES = ("ada", "bela")
DENSITY_G_L = 200  # of fresh grass: heaps/science/materials.csv
HALF_ML = 5_000
Raw = dict[str, Any]


@dataclass
class Phone:
    """What one phone holds: entries that wait, each with the person who recorded it, and the journal of sent ones."""

    number: int
    user: str
    wrong: timedelta  # its clock's error
    epoch: Any
    waiting: dict[str, tuple[str, Raw]] = field(default_factory=dict)
    journal: dict[str, tuple[str, Raw, datetime]] = field(default_factory=dict)


class TwoPhones(RuleBasedStateMachine):
    """What two people do with them. What befalls them is said by whoever takes it further."""

    def __init__(self) -> None:
        super().__init__()
        self.now = BEGINS
        self.told: dict[str, Raw] = {}  # acknowledged: in the ledger, or with a coordinator
        self.recorded: list[str] = []
        self.gone: set[str] = set()
        self.too_late: set[str] = set()  # sent before a restore, by a phone that came back after its journal's days
        self.changed = True

    def _ground(self) -> None:
        Cooperative.objects.create(name="Two Lanes Growers", bag_litres=40)
        self.site = Site.objects.create(name="Lane Side", time_zone="UTC")
        size = {"length_cm": 100, "width_cm": 100, "height_cm": 100}
        bays = [Bay.objects.create(site=self.site, name=f"Bay {place}", position=place, **size) for place in (1, 2)]
        self.bays = [str(bay.uid) for bay in bays]
        self.people = {name: Member.objects.create(username=name, name=name.title()) for name in NAMES}
        self.uids = {name: str(person.uid) for name, person in self.people.items()}
        self.cleo = Member.objects.create(username="cleo", name="Cleo", is_coordinator=True)
        clocks = (timedelta(0), timedelta(days=-3_650))
        self.phones = [Phone(number, NAMES[number], clocks[number], epoch()) for number in (0, 1)]

    def _load(self, count: int) -> Raw:
        return {"feedstock": "grass-fresh", "half_containers": count, "container_ml": 2 * HALF_ML}

    def _keep(self, phone: Phone, kind: str, bay: str | None, details: Raw) -> None:
        self.now += timedelta(minutes=1)
        raw = {
            "wire": 1, "uid": str(uuid.uuid4()), "kind": kind, "site": str(self.site.uid), "bay": bay,
            "occurred_at": (self.now + phone.wrong).isoformat(), "by_hand": False, "details": details,
        }  # fmt: skip
        phone.waiting[raw["uid"]] = (phone.user, raw)
        self.recorded.append(raw["uid"])

    def _own_load(self, phone: Phone, chance: random.Random) -> Raw | None:
        """A load that the phone's user recorded on it, unless it is already corrected from here."""
        held = [*phone.waiting.values(), *((who, raw) for who, raw, _sent_at in phone.journal.values())]
        meant = {raw["details"].get("corrects") for _who, raw in held}
        own = [raw for who, raw in held if who == phone.user and raw["kind"] == "dropoff" and raw["uid"] not in meant]
        return chance.choice(own) if own else None

    def _letter(self, phone: Phone) -> list[Raw]:
        """What waits and is the user's. A new epoch offers the journal again, as far back as it goes."""
        if phone.epoch != epoch():
            phone.epoch = epoch()
            back = {uid: (who, raw) for uid, (who, raw, sent) in phone.journal.items() if sent > self.now - JOURNAL}
            self.too_late |= phone.journal.keys() - back.keys()
            phone.waiting, phone.journal = back | phone.waiting, {}
        return [raw for who, raw in phone.waiting.values() if who == phone.user]

    def _sent(self, phone: Phone, letter: list[Raw]) -> list[Receipt]:
        """As the address does it: signed in through the door; who has left hands in with a key."""
        if not letter:
            return []
        self.now += timedelta(seconds=1)
        self.changed = True
        person = None if phone.user in self.gone else self.people[phone.user]
        device = uuid.UUID(int=phone.number)
        sending = Sending(person, device, sent_at=self.now + phone.wrong, received_at=self.now)
        receipts = accept(letter, sending) if person else hand_in(letter, self.uids[phone.user], sending)
        assert [receipt.uid for receipt in receipts] == [raw["uid"] for raw in letter]
        return receipts

    def _hear(self, phone: Phone, receipts: list[Receipt]) -> None:
        """What the phone does with its receipts. Nothing that it sends here may be refused."""
        for receipt in receipts:
            self._acknowledge(phone, receipt)
            who, raw = phone.waiting.pop(receipt.uid)
            phone.journal[receipt.uid] = (who, raw, self.now)

    def _acknowledge(self, phone: Phone, receipt: Receipt) -> None:
        assert receipt.state in ("accepted", "known", "parked"), receipt
        self.told.setdefault(receipt.uid, phone.waiting[receipt.uid][1])
