"""What a site asks for at its gate, beyond the published list, and the papers it holds."""

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from heaps.models.own import known_materials
from heaps.science.feedstocks import STRICTNESS, strictness

MOST_CAP = 100_000_000  # kilograms or litres: far more than any site holds


class GateRule(models.Model):
    """One material that a site takes more strictly than the published list. Nothing here can loosen that list."""

    class Acceptance(models.TextChoices):
        CARE = "with care", _lazy("Yes, with care")
        TREAT = "treat first", _lazy("Treat it first")
        NEVER = "never", _lazy("Never")

    site = models.ForeignKey("heaps.Site", models.CASCADE, related_name="gate_rules")
    feedstock = models.CharField(max_length=40)
    acceptance = models.CharField(max_length=12, choices=Acceptance)
    reason = models.CharField(max_length=160)
    since = models.DateTimeField()  # loads from before are nobody's mistake

    class Meta:
        ordering = ["site", "feedstock"]
        constraints = [models.UniqueConstraint(fields=["site", "feedstock"], name="gate_rule_once_a_material")]

    def __str__(self) -> str:
        return f"{self.feedstock}: {self.acceptance}"

    def clean(self) -> None:
        """Refuse a rule that is not stricter than the published list."""
        known = known_materials().get(self.feedstock)
        if known is None:
            raise ValidationError({"feedstock": _("This material is not in the list. Choose one that is.")})
        if self.acceptance in STRICTNESS and strictness(self.acceptance) <= strictness(known.acceptance):
            raise ValidationError({"acceptance": _("The list is as strict already. A site can only be stricter.")})


class Pause(models.Model):
    """What a site does not want for some days: no more greens this week, or nothing at all."""

    class What(models.TextChoices):
        GREEN = "green", _lazy("no more greens")
        BROWN = "brown", _lazy("no more browns")
        STRUCTURAL = "structural", _lazy("no more coarse stuff")
        EVERYTHING = "everything", _lazy("closed: nothing at all")

    site = models.ForeignKey("heaps.Site", models.CASCADE, related_name="pauses")
    what = models.CharField(max_length=12, choices=What)
    until = models.DateField()  # the last day of it
    reason = models.CharField(max_length=160)

    class Meta:
        ordering = ["site", "what"]
        constraints = [models.UniqueConstraint(fields=["site", "what"], name="pause_once_a_site")]

    def __str__(self) -> str:
        return f"{self.get_what_display()} until {self.until}"


class Papers(models.Model):
    """The permit, insurance and consent of a site, as somebody typed them. Nothing is certified by that."""

    site = models.OneToOneField("heaps.Site", models.CASCADE, related_name="papers")
    permit = models.CharField(max_length=120, blank=True)
    permit_until = models.DateField(null=True, blank=True)
    insurance = models.CharField(max_length=120, blank=True)
    insurance_until = models.DateField(null=True, blank=True)
    consent = models.CharField(max_length=200, blank=True)
    consent_until = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"papers of {self.site_id}"


class Cap(models.Model):
    """The most of a material, or without one of everything, that may lie at a site: kilograms or litres."""

    class Unit(models.TextChoices):
        KG = "kg", _lazy("tonnes")
        LITRES = "litres", _lazy("cubic metres")

    site = models.ForeignKey("heaps.Site", models.CASCADE, related_name="caps")
    feedstock = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=6, choices=Unit)
    most = models.PositiveIntegerField(validators=[MinValueValidator(1), MaxValueValidator(MOST_CAP)])

    class Meta:
        ordering = ["site", "feedstock", "unit"]
        constraints = [models.UniqueConstraint(fields=["site", "feedstock", "unit"], name="cap_once_a_material")]

    def __str__(self) -> str:
        return f"{self.feedstock or 'all'}: {self.most} {self.unit}"
