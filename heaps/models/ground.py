"""What is on the ground, who looks after it, and who gives."""

import uuid
import zoneinfo
from datetime import date, datetime

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _


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
        OPEN = "open", _("open bay")
        LIDDED = "lidded", _("closed bin")
        LEAF = "leaf", _("leaf bin")

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


class ContainerWas(models.Model):
    """How a container was until a moment. Loads carry the size of their own day: this is only to be read."""

    container = models.ForeignKey(Container, models.CASCADE, related_name="was")
    until = models.DateTimeField()
    litres = models.PositiveSmallIntegerField()
    fill_per_cent = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["-until", "-pk"]

    def __str__(self) -> str:
        return f"{self.litres} litres until {self.until}"


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
        CAFE = "cafe", _("cafe or kitchen")
        GROCER = "grocer", _("grocer or market")
        STABLE = "stable", _("stable or farm")
        TREES = "trees", _("tree surgeon")
        GARDEN = "garden", _("garden or park")
        BREWERY = "brewery", _("brewery or mill")
        HOUSEHOLDS = "households", _("households")
        OTHER = "other", _("other")

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
