"""The ledger's rows, what waits before it, and what is asked and noted about its entries."""

import uuid
from dataclasses import dataclass
from datetime import datetime
from operator import attrgetter
from typing import Any

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from heaps import ledger
from heaps.models.ground import Bay, Donor, Site


class Ledger(models.Model):
    """The head of the ledger: one row, locked by whoever appends, so that the chain has one end.

    `epoch` changes when a backup is restored; phones then offer again what they sent. `replay` says which replay
    made the stored states.
    """

    epoch = models.UUIDField(default=uuid.uuid4)
    entries = models.PositiveBigIntegerField(default=0)
    chain = models.CharField(max_length=64, default="0" * 64)
    replay = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.entries} entries"


class Entry(models.Model):
    """One fact, never changed. A mistake is answered by a correction.

    `fingerprint` covers what was measured; `chain` covers it and all before it. Who and free words stand
    outside both, so that they can be erased.
    """

    uid = models.UUIDField(unique=True)
    kind = models.CharField(max_length=12)
    site = models.ForeignKey(Site, models.PROTECT, related_name="entries")
    bay = models.ForeignKey(Bay, models.PROTECT, null=True, related_name="entries")
    occurred_at = models.DateTimeField()  # by the phone's clock
    effective_at = models.DateTimeField()  # corrected by the clock's error seen at sending
    received_at = models.DateTimeField()
    by_hand = models.BooleanField(default=False)  # the date was typed in and is kept
    details = models.JSONField()
    corrects = models.UUIDField(null=True)
    fingerprint = models.CharField(max_length=64)
    chain = models.CharField(max_length=64)

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="entries")
    device = models.UUIDField(null=True)
    words = models.TextField(blank=True)
    donor = models.ForeignKey(Donor, models.SET_NULL, null=True, related_name="entries")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(kind__in=list(ledger.ORDER)), name="entry_kind_known"),
            models.CheckConstraint(
                condition=models.Q(effective_at__lte=models.F("received_at")),
                name="entry_not_from_the_future",
            ),
        ]
        indexes = [
            models.Index(fields=["bay", "effective_at"], name="entry_bay_time"),
            models.Index(fields=["site", "effective_at"], name="turn_site_time", condition=models.Q(kind="turn")),
            # with the site, or SQLite looks for the answers to one entry among all entries of its site
            models.Index(fields=["corrects", "site"], name="entry_answers", condition=models.Q(corrects__isnull=False)),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.uid}"


@dataclass(slots=True, eq=False)
class Fresh:
    """An entry that the door has just read: its columns by their names in `Entry`, what they refer to, and the same
    as the core has it. Making a row object takes longer than all that is done with it.

    `occurred`, `effective` and `received` are moments in ISO 8601, `written` the details in JSON: what is chained and
    stored is written once.
    """

    kind: str
    site_id: int
    bay_id: int | None
    occurred: str
    effective_at: datetime
    effective: str
    received: str
    by_hand: bool
    details: dict[str, Any]
    written: str
    corrects: uuid.UUID | None
    fingerprint: str
    chain: str
    person_id: int | None
    device: uuid.UUID | None
    words: str
    donor_id: int | None

    site: Site
    bay: Bay | None
    told: ledger.Entry
    number: uuid.UUID | None = None

    @property
    def uid(self) -> uuid.UUID:
        """As rows have it, made when it is first asked for: mostly nobody asks."""
        if self.number is None:
            self.number = uuid.UUID(self.told.uid)
        return self.number


#: What is stored of an entry, and from where in a fresh one.
COLUMNS = tuple(field.attname for field in Entry._meta.concrete_fields if not field.primary_key)
WRITTEN = {
    "uid": "told.uid", "occurred_at": "occurred", "effective_at": "effective", "received_at": "received",
    "details": "written",
}  # fmt: skip
as_stored = attrgetter(*(WRITTEN.get(name, name) for name in COLUMNS))


class Parked(models.Model):
    """An entry kept for a coordinator to place, because the ledger had no place for it.

    The row stays when it is placed, so that a phone which offers the entry again is told that it is known.
    """

    uid = models.UUIDField(unique=True)
    received_at = models.DateTimeField()
    sent_at = models.DateTimeField()
    raw = models.TextField()  # the entry as it came, as JSON in plain ASCII
    reason = models.CharField(max_length=200)
    placed_at = models.DateTimeField(null=True)
    left_out_at = models.DateTimeField(null=True)  # a coordinator decided that it does not belong in the ledger
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    device = models.UUIDField(null=True)

    class Meta:
        ordering = ["received_at", "pk"]

    def __str__(self) -> str:
        return f"{self.reason} ({self.uid})"


class Question(models.Model):
    """Something a coordinator is asked about an entry: recorded twice, an unlikely date, an odd correction."""

    class Why(models.TextChoices):
        TWICE = "twice", _("recorded by two people")
        DATE = "date", _("unlikely date")
        EARLY = "early", _("corrected by somebody else before it came")
        RULE = "rule", _("against a rule of the site")

    why = models.CharField(max_length=10, choices=Why)
    site = models.ForeignKey(Site, models.CASCADE, related_name="questions")
    entry = models.ForeignKey(Entry, models.CASCADE, related_name="+")
    other = models.ForeignKey(Entry, models.CASCADE, null=True, related_name="+")
    says = models.CharField(max_length=200)
    settled_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(fields=["site"], name="question_open", condition=models.Q(settled_at__isnull=True))]

    def __str__(self) -> str:
        return self.says


class BeanTest(models.Model):
    """Beans sown in a mix with one load, beside some without: whether a weedkiller came with it.

    The usual test for residues in manure, straw and grass that kill broad-leaved plants (common practice).
    """

    class Result(models.TextChoices):
        WELL = "well", _("grew like the beans without")
        DOUBTFUL = "doubtful", _("cannot tell")
        BADLY = "badly", _("cupped or twisted leaves, or no growth")

    entry = models.ForeignKey(Entry, models.CASCADE, related_name="bean_tests")
    sown_on = models.DateField()
    read_on = models.DateField(null=True)
    result = models.CharField(max_length=10, choices=Result, blank=True)
    words = models.CharField(max_length=200, blank=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["sown_on", "pk"]

    def __str__(self) -> str:
        return self.get_result_display() or "growing"
