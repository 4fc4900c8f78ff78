"""What is on the ground, the ledger, and the totals kept beside it."""

import uuid
import zoneinfo
from datetime import date, datetime

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from heaps.ledger import ORDER
from heaps.terms import Cap as Cap
from heaps.terms import GateRule as GateRule
from heaps.terms import Papers as Papers
from heaps.terms import Pause as Pause


class Site(models.Model):
    """A piece of ground with bays on it."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=60, unique=True)
    time_zone = models.CharField(max_length=40, default="Europe/London")
    open_times = models.TextField(max_length=400, blank=True)  # lines for everybody to read

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def day_of(self, moment: datetime) -> date:
        """The site's own local day."""
        return moment.astimezone(zoneinfo.ZoneInfo(self.time_zone)).date()


class Bay(models.Model):
    """A place where a heap lies. Its position is its order on the ground, from the gate on."""

    class Kind(models.TextChoices):
        OPEN = "open", "open bay"
        LIDDED = "lidded", "closed bin"
        LEAF = "leaf", "leaf bin"

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="bays")
    name = models.CharField(max_length=40)
    position = models.PositiveSmallIntegerField(help_text="1 is the first bay seen from the gate")
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.OPEN)
    length_cm = models.PositiveSmallIntegerField(validators=[MinValueValidator(20), MaxValueValidator(2000)])
    width_cm = models.PositiveSmallIntegerField(validators=[MinValueValidator(20), MaxValueValidator(2000)])
    height_cm = models.PositiveSmallIntegerField(validators=[MinValueValidator(20), MaxValueValidator(300)])
    is_full = models.BooleanField(default=False)  # a coordinator says: feed another one for now

    class Meta:
        ordering = ["site", "position", "name"]
        constraints = [models.UniqueConstraint(fields=["site", "name"], name="bay_name_once_a_site")]

    def __str__(self) -> str:
        return self.name

    @property
    def volume_ml(self) -> int:
        """What the bay holds filled level, in millilitres."""
        return self.length_cm * self.width_cm * self.height_cm


class Container(models.Model):
    """A bucket, sack or barrow that people bring loads in, and how full it usually is."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="containers")
    name = models.CharField(max_length=40)
    litres = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(5000)])
    fill_per_cent = models.PositiveSmallIntegerField(
        "usually filled, per cent", default=100, validators=[MinValueValidator(10), MaxValueValidator(150)]
    )

    class Meta:
        ordering = ["site", "litres", "name"]
        constraints = [models.UniqueConstraint(fields=["site", "name"], name="container_name_once_a_site")]

    def __str__(self) -> str:
        return self.name

    @property
    def filled_ml(self) -> int:
        """What one container holds as it is usually filled, in millilitres."""
        return self.litres * self.fill_per_cent * 10


class Stewardship(models.Model):
    """That somebody is coordinator of one site. Whoever coordinates all of them has it as a role of their own."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="stewardships")
    member = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="stewardships")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "member"], name="stewardship_once")]

    def __str__(self) -> str:
        return f"{self.member_id} at {self.site_id}"


class Donor(models.Model):
    """Who gives: a cafe, a stable, households. Phones see the kind and the organisation, never `contact`."""

    class Kind(models.TextChoices):
        CAFE = "cafe", "cafe or kitchen"
        GROCER = "grocer", "grocer or market"
        STABLE = "stable", "stable or farm"
        TREES = "trees", "tree surgeon"
        GARDEN = "garden", "garden or park"
        BREWERY = "brewery", "brewery or mill"
        HOUSEHOLDS = "households", "households"
        OTHER = "other", "other"

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, null=True, related_name="donors")  # null: gives to every site
    kind = models.CharField(max_length=12, choices=Kind)
    organisation = models.CharField(max_length=60, blank=True)
    contact = models.CharField(max_length=200, blank=True)  # for coordinators only, erased on request
    gives = models.BooleanField(default=True)  # false: no longer offered on phones; what it gave stays its own

    class Meta:
        ordering = ["kind", "organisation", "pk"]

    def __str__(self) -> str:
        return self.organisation or self.get_kind_display()


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
            models.CheckConstraint(condition=models.Q(kind__in=list(ORDER)), name="entry_kind_known"),
            models.CheckConstraint(
                condition=models.Q(effective_at__lte=models.F("received_at")),
                name="entry_not_from_the_future",
            ),
        ]
        indexes = [
            models.Index(fields=["bay", "effective_at"], name="entry_bay_time"),
            models.Index(fields=["site", "effective_at"], name="turn_site_time", condition=models.Q(kind="turn")),
            models.Index(fields=["corrects"], name="entry_corrects", condition=models.Q(corrects__isnull=False)),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.uid}"


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


class StoredBay(models.Model):
    """The state of a bay as replay finds it, kept in the same transaction as the entries."""

    bay = models.OneToOneField(Bay, models.CASCADE, related_name="stored")
    state = models.JSONField()

    def __str__(self) -> str:
        return f"state of {self.bay_id}"


class Checkpoint(models.Model):
    """A bay's state just after one entry, from which a late entry can be replayed."""

    bay = models.ForeignKey(Bay, models.CASCADE, related_name="checkpoints")
    at = models.DateTimeField()
    place = models.PositiveSmallIntegerField()
    uid = models.CharField(max_length=36)
    state = models.JSONField()

    class Meta:
        indexes = [models.Index(fields=["bay", "at"], name="checkpoint_bay_time")]

    def __str__(self) -> str:
        return f"{self.bay_id} at {self.at}"


class DayTotal(models.Model):
    """The sum of one heading on one local day in one bay. Zero rows are taken out."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="+")
    bay = models.ForeignKey(Bay, models.CASCADE, null=True, related_name="+")
    day = models.DateField()
    what = models.CharField(max_length=12)
    detail = models.CharField(max_length=40, blank=True)
    basis = models.CharField(max_length=10, blank=True)
    entries = models.BigIntegerField(default=0)
    wet_g = models.BigIntegerField(default=0)
    volume_ml = models.BigIntegerField(default=0)
    half_bags = models.BigIntegerField(default=0)
    minutes = models.BigIntegerField(default=0)
    people = models.BigIntegerField(default=0)
    tenths_m2 = models.BigIntegerField(default=0)

    class Meta:
        indexes = [
            models.Index(fields=["day"], name="total_day"),
            models.Index(fields=["bay", "day"], name="total_bay_day"),
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.detail} {self.day}"


class Use(models.Model):
    """How often a feedstock has come in a container at a site: what a phone offers first."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="uses")
    feedstock = models.CharField(max_length=40)
    container = models.ForeignKey(Container, models.CASCADE, null=True, related_name="+")
    loads = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.feedstock} {self.loads}"


class Attendance(models.Model):
    """That someone recorded at a site in a month, and how many standing entries say so."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="+")
    month = models.DateField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    entries = models.BigIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "month", "person"], name="attendance_once_a_month")]

    def __str__(self) -> str:
        return f"{self.month} {self.entries}"


class Headcount(models.Model):
    """How many people whose names are kept no longer were at a site in the `months` that begin with `starts`.

    Together with Attendance these are the people of the report. `months` is 1, or 12 from any month on, because a
    cooperative may change the month its year starts in. Without a site: at all sites, each person counted once.
    """

    site = models.ForeignKey(Site, models.CASCADE, null=True, related_name="+")
    starts = models.DateField()
    months = models.PositiveSmallIntegerField()
    people = models.PositiveBigIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "starts", "months"], name="headcount_once"),
            models.UniqueConstraint(
                fields=["starts", "months"], name="headcount_everywhere_once", condition=models.Q(site__isnull=True)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.people} from {self.starts}"


class Question(models.Model):
    """Something a coordinator is asked about an entry: recorded twice, an unlikely date, an odd correction."""

    class Why(models.TextChoices):
        TWICE = "twice", "recorded by two people"
        DATE = "date", "unlikely date"
        EARLY = "early", "corrected by somebody else before it came"
        RULE = "rule", "against a rule of the site"

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
        WELL = "well", "grew like the beans without"
        DOUBTFUL = "doubtful", "cannot tell"
        BADLY = "badly", "cupped or twisted leaves, or no growth"

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
