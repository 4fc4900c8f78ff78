"""What is kept beside the ledger, in the transaction that appends to it: states, totals, who was there."""

from django.conf import settings
from django.db import models

from heaps.models.ground import Bay, Container, Site


class StoredBay(models.Model):
    """The state of a bay as replay finds it, kept in the same transaction as the entries.

    `carried` counts how often it was carried on, so that what was made of it can be told from what is still to be made.
    """

    bay = models.OneToOneField(Bay, models.CASCADE, related_name="stored")
    state = models.JSONField()
    carried = models.PositiveIntegerField(default=0)

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


class SiteStore(models.Model):
    """What stands in store at a site, by its last counts: kept in the same transaction as the entries."""

    site = models.OneToOneField(Site, models.CASCADE, related_name="store")
    counted = models.JSONField()

    def __str__(self) -> str:
        return f"store of {self.site_id}"


class KeptAdvice(models.Model):
    """What to add to a heap, as it was last reckoned. `key` stands for all that it depends on but how much is in store.

    Made when somebody looks, never while entries come in: it takes longer than all else about an entry.
    """

    bay = models.OneToOneField(Bay, models.CASCADE, related_name="advice")
    key = models.CharField(max_length=64)
    recipe = models.JSONField()

    def __str__(self) -> str:
        return f"advice for {self.bay_id}"
