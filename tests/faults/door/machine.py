"""Phones, the door and a coordinator, step by step at random, against a model of a dict and a list.

The model: what each phone still holds, and `told`, what the server has acknowledged. After every step no entry is lost
or doubled, and what the totals say is what the model adds up. A restore is the database as it was, with a new epoch.
"""

import random
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from unittest import mock

from django.db import transaction
from django.db.models import Sum
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule

from cooperative import leaving
from heaps import doubts, history
from heaps.models import DayTotal, Entry, Ledger, Parked
from heaps.tray import place
from members.models import Member
from tests.faults.door.totals import kept_totals
from tests.faults.door.two_phones import DENSITY_G_L, HALF_ML, NAMES, Raw, TwoPhones
from tests.recount import recounted

phones = st.integers(0, 1)
chances = st.integers(0, 2**16).map(random.Random)


class PowerCut(Exception):
    """The server is gone before it commits."""


class DoorStates(TwoPhones):
    """Everything that can befall what two people record on two phones."""

    taken = 0  # steps, of all stories

    def __init__(self) -> None:
        super().__init__()
        self.opened = transaction.atomic()
        self.opened.__enter__()
        self._ground()
        self.saved: tuple[str, dict[str, Raw]] | None = None
        self.steps = 0

    # What people do.

    @rule(which=phones, count=st.integers(1, 9), bay=st.sampled_from([0, 0, 1, None]))
    def record(self, which: int, count: int, bay: int | None) -> None:
        """A load; without a bay it is one that the server does not know."""
        where = str(uuid.uuid4()) if bay is None else self.bays[bay]
        self._keep(self.phones[which], "dropoff", where, self._load(count))

    @rule(which=phones, chance=chances, count=st.integers(1, 9))
    def correct(self, which: int, chance: random.Random, count: int) -> None:
        """Another count for a load of one's own, sent or not; its correction may come in first."""
        if original := self._own_load(self.phones[which], chance):
            said = {"kind": "dropoff", "bay": original["bay"], "details": self._load(count)}
            details = {"corrects": original["uid"], "says": "instead"} | said
            self._keep(self.phones[which], "correction", None, details)

    @rule(which=phones, chance=chances)
    def undo(self, which: int, chance: random.Random) -> None:
        """What still waits is taken back on the phone; what was sent is withdrawn by a correction."""
        phone = self.phones[which]
        if not (original := self._own_load(phone, chance)):
            return
        if original["uid"] in phone.waiting:
            del phone.waiting[original["uid"]]
            self.recorded.remove(original["uid"])
            return
        self._keep(phone, "correction", None, {"corrects": original["uid"], "says": "withdraw"})

    @rule(which=phones)
    def switch_user(self, which: int) -> None:
        """The other person takes the phone. What waits for the first stays theirs."""
        phone = self.phones[which]
        phone.user = NAMES[1 - NAMES.index(phone.user)]

    @rule(minutes=st.sampled_from([1, 60, 60 * 24, 60 * 24 * 40]))
    def advance_clock(self, minutes: int) -> None:
        self.now += timedelta(minutes=minutes)

    # What the network and the server do.

    @rule(which=phones, most=st.integers(1, 50))
    def send(self, which: int, most: int) -> None:
        phone = self.phones[which]
        self._hear(phone, self._sent(phone, self._letter(phone)[:most]))

    @rule(which=phones)
    def send_twice(self, which: int) -> None:
        phone = self.phones[which]
        letter = self._letter(phone)
        first, second = self._sent(phone, letter), self._sent(phone, letter)
        assert all(again.state in ("known", "parked", "refused") for again in second), second
        self._hear(phone, first if len(letter) % 2 else second)

    @rule(which=phones, chance=chances)
    def reorder(self, which: int, chance: random.Random) -> None:
        """Half of what waits, the last first or in no order."""
        phone = self.phones[which]
        letter = self._letter(phone)
        chance.shuffle(letter)
        self._hear(phone, self._sent(phone, letter[: len(letter) // 2 + 1]))

    @rule(which=phones)
    def answer_lost(self, which: int) -> None:
        """The server has it, and the phone does not know."""
        phone = self.phones[which]
        for receipt in self._sent(phone, self._letter(phone)):
            self._acknowledge(phone, receipt)

    @rule(which=phones)
    def crash_before_commit(self, which: int) -> None:
        phone = self.phones[which]
        if letter := self._letter(phone):
            before = self._in_ledger()
            with mock.patch.object(doubts, "settle", side_effect=PowerCut), self._may_fail():
                self._sent(phone, letter)
            assert self._in_ledger() == before

    @rule()
    def back_up(self) -> None:
        self.saved = (transaction.savepoint(), dict(self.told))

    @precondition(lambda self: self.saved is not None)
    @rule()
    def restore(self) -> None:
        """The database as it was. Whoever was erased since is erased again, as the restore's own list says."""
        assert self.saved
        saved, told = self.saved
        transaction.savepoint_rollback(saved)
        Ledger.objects.update(epoch=uuid.uuid4())
        self.told = dict(told)
        self.changed = True
        for name in self.gone:
            self._erase(name)

    @rule(chance=chances, bay=st.integers(0, 1))
    def place_parked(self, chance: random.Random, bay: int) -> None:
        if one := self._one_parked(chance):
            raw = self.told.get(str(one.uid))
            receipt = place(one.uid, {"bay-0": self.bays[bay]}, self.cleo, self.now)
            assert receipt is not None
            if receipt.state in ("accepted", "known") and raw:
                self.told[str(one.uid)] = raw | ({"bay": self.bays[bay]} if raw["bay"] else {})
            self.changed = True

    @precondition(lambda self: len(self.gone) == 0)
    @rule(who=st.sampled_from(NAMES), really=st.sampled_from([True, False, False, False]))
    def erase_a_person(self, who: str, really: bool) -> None:
        if really:
            self.gone.add(who)
            self._erase(who)

    # What must hold.

    @invariant()
    def acknowledged_entries_are_there_once(self) -> None:
        """I1: in the ledger once, or once with a coordinator."""
        if not self.changed:
            return
        ledger = [str(uid) for uid in Entry.objects.values_list("uid", flat=True)]
        parked = {str(uid) for uid in Parked.objects.filter(placed_at=None).values_list("uid", flat=True)}
        assert len(ledger) == len(set(ledger)) == Ledger.objects.get().entries
        assert parked.isdisjoint(ledger)
        assert parked | set(ledger) == self.told.keys()

    @invariant()
    def what_is_not_acknowledged_is_on_a_phone(self) -> None:
        """I2: on the phone still, or to be offered again by it after a restore, within the journal's days."""
        type(self).taken += 1
        kept = {uid for phone in self.phones for uid in (*phone.waiting, *phone.journal)}
        assert set(self.recorded) - self.told.keys() - self.too_late <= kept

    @invariant()
    def totals_are_what_the_entries_add_up_to(self) -> None:
        """I3: by the model after each step; by plain SQL and a full replay now and then."""
        if not self.changed:
            return
        shown = DayTotal.objects.aggregate(loads=Sum("entries"), wet_g=Sum("wet_g"))
        assert (shown["loads"] or 0, shown["wet_g"] or 0) == self._added_up()
        self.changed = False
        self.steps += 1
        if self.steps % 25 == 0:
            self._counted_anew()

    def teardown(self) -> None:
        """At the end all is mended and everything comes in."""
        try:
            for phone in self.phones:
                for name in NAMES:
                    phone.user = name
                    self._hear(phone, self._sent(phone, self._letter(phone)))
            assert not any(phone.waiting for phone in self.phones)
            self.changed = True
            self.acknowledged_entries_are_there_once()
            self._counted_anew()
        finally:
            transaction.set_rollback(True)
            self.opened.__exit__(None, None, None)

    def _counted_anew(self) -> None:
        assert kept_totals() == recounted()
        assert history.drift(self.site) == []

    # How it is done.

    def _in_ledger(self) -> set[str]:
        return {str(uid) for uid in Entry.objects.values_list("uid", flat=True)}

    @contextmanager
    def _may_fail(self) -> Iterator[None]:
        """An entry of somebody who has left is parked, and does not come as far as the crash."""
        try:
            with transaction.atomic():
                yield
                raise PowerCut
        except PowerCut:
            pass

    def _one_parked(self, chance: random.Random) -> Parked | None:
        waiting = list(Parked.objects.filter(placed_at=None).order_by("received_at", "uid"))
        return chance.choice(waiting) if waiting else None

    def _erase(self, name: str) -> None:
        if person := Member.objects.filter(username=name).first():
            leaving.erase(person.pk)
        self.changed = True

    def _added_up(self) -> tuple[int, int]:
        """Loads and grams by the model: each load in the ledger as its latest correction there leaves it."""
        here = self._in_ledger()
        latest: dict[str, Raw] = {}
        for uid in here:
            raw = self.told[uid]
            corrects = raw["details"].get("corrects")
            if corrects and (corrects not in latest or self._happened(latest[corrects]) < self._happened(raw)):
                latest[corrects] = raw
        loads = [self.told[uid]["details"] for uid in here if self.told[uid]["kind"] == "dropoff" and uid not in latest]
        loads += [raw["details"]["details"] for uid, raw in latest.items() if uid in here and self._stays(raw)]
        return len(loads), sum(load["half_containers"] * HALF_ML * DENSITY_G_L // 1_000 for load in loads)

    def _happened(self, raw: Raw) -> int:
        return self.recorded.index(raw["uid"])

    def _stays(self, raw: Raw) -> bool:
        return bool(raw["details"]["says"] == "instead")
