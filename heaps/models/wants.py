"""What a coordinator decided about heaps: what they are brought to, a hot heap being built, what a site calls for, and
the usual year at a site."""

from functools import lru_cache

from django.db import models

from heaps.models.ground import Bay, Site
from heaps.science.climate import UK_LOWLAND, Climate
from heaps.science.targets import IDEAL, Targets


class OwnTargets(models.Model):
    """What heaps are brought to here, in place of the published ranges. Never changed: the latest counts.

    A range that is left empty is the published one.
    """

    c_to_n_least = models.PositiveSmallIntegerField(null=True)
    c_to_n_most = models.PositiveSmallIntegerField(null=True)
    moisture_least = models.PositiveSmallIntegerField(null=True)  # per cent of wet weight
    moisture_most = models.PositiveSmallIntegerField(null=True)
    air_least = models.PositiveSmallIntegerField(null=True)  # per cent of the volume
    reason = models.CharField(max_length=160, blank=True)
    decided_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"targets of {self.decided_at:%Y-%m-%d}"


def targets_here() -> Targets:
    """What heaps are brought to: one question to the database."""
    return _compiled(OwnTargets.objects.order_by("-pk").values_list(*FIGURES).first())


FIGURES = ("c_to_n_least", "c_to_n_most", "moisture_least", "moisture_most", "air_least")


@lru_cache(maxsize=16)
def _compiled(row: tuple[int | None, ...] | None) -> Targets:
    """The same figures are the same object, so that whoever keeps something by them finds it again."""
    if row is None:
        return IDEAL
    c_to_n_least, c_to_n_most, wet_least, wet_most, air = row
    return Targets(
        (float(c_to_n_least or IDEAL.c_to_n[0]), float(c_to_n_most or IDEAL.c_to_n[1])),
        (
            IDEAL.moisture[0] if wet_least is None else wet_least / 100,
            IDEAL.moisture[1] if wet_most is None else wet_most / 100,
        ),
        IDEAL.least_air if air is None else air / 100,
    )


class Call(models.Model):
    """A site asks for something until a day, for everybody to read. No name stands in it."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="calls")
    says = models.CharField(max_length=200)
    until = models.DateField()  # the last day of it
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["until", "pk"]

    def __str__(self) -> str:
        return self.says


class HotHeap(models.Model):
    """That a hot heap was built in a bay on a day, in one go: its checklist goes with what lay there then."""

    bay = models.ForeignKey(Bay, models.CASCADE, related_name="hot_heaps")
    built_on = models.DateField()

    class Meta:
        ordering = ["-built_on", "-pk"]
        constraints = [models.UniqueConstraint(fields=["bay", "built_on"], name="hot_heap_once_a_day")]

    def __str__(self) -> str:
        return f"hot heap of {self.built_on}"


class OwnClimate(models.Model):
    """The usual year at a site, in place of the published one. Never changed: the latest counts.

    `months` are twelve pairs from January on, tenths of a degree and tenths of a millimetre of rain in the whole month;
    none: the published year again. `source` says where they are from.
    """

    site = models.ForeignKey(Site, models.CASCADE, related_name="climates")
    months = models.JSONField(default=list)
    source = models.CharField(max_length=120, blank=True)
    decided_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"usual year of {self.decided_at:%Y-%m-%d}"


def climate_at(site_id: int) -> Climate:
    """The usual year at a site, its own or the published one: one question to the database."""
    own = OwnClimate.objects.filter(site=site_id).order_by("-pk").first()
    if own is None or not own.months:
        return UK_LOWLAND
    return Climate.of_months([(air / 10, rain / 10) for air, rain in own.months], own.source)
