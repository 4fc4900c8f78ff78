"""What a coordinator decided about heaps: what they are brought to, a hot heap being built, what a site calls for."""

from functools import lru_cache

from django.db import models

from heaps.models.ground import Bay, Site
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
