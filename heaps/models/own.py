"""What the cooperative decided about materials: own values over the published ones, and materials of its own."""

from functools import lru_cache
from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from heaps.models import many
from heaps.science.materials import NAME, Decision, Materials, with_own

#: What the core has to know of a decision.
TOLD = ("feedstock", "figure", "number", "words", "chosen", "since", "reason")


class OwnValue(models.Model):
    """One decision about one material. It is never changed: a later one takes its place, and may take it back.

    `moved` says what it did to the years: the first day of each, and its grams before and after.
    """

    class Figure(models.TextChoices):
        DENSITY = "density", _("Weight of a cubic metre")
        MOISTURE = "moisture", _("Moisture")
        NITROGEN = "nitrogen", _("Nitrogen")
        C_TO_N = "c_to_n", "C:N"
        NAME = "name", _("Short name")
        GATE = "gate", _("Word at the gate")
        RELATIVE = "relative", _("Nearest relative")
        OFFERED = "offered", _("Offered")

    feedstock = models.CharField(max_length=40)
    figure = models.CharField(max_length=10, choices=Figure)
    number = models.DecimalField(max_digits=8, decimal_places=3, null=True)  # none: the published one again
    words = models.CharField(max_length=60, blank=True)  # a name
    chosen = models.CharField(max_length=40, blank=True)  # a word at the gate, a relative's key, yes or no
    since = models.DateTimeField(null=True)  # none: for all loads, also those from before
    reason = models.CharField(max_length=160, blank=True)
    decided_at = models.DateTimeField()
    moved = models.JSONField(default=list)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.feedstock}: {self.figure}"


def known_materials(*further: OwnValue) -> Materials:
    """The materials as the cooperative has them, and would have them by `further`: one question to the database."""
    rows = many.find(OwnValue, TOLD)
    return _compiled((*rows, *(tuple(getattr(one, name) for name in TOLD) for one in further)))


@lru_cache(maxsize=16)
def _compiled(rows: tuple[tuple[Any, ...], ...]) -> Materials:
    """The same decisions give the same materials, so that whoever keeps something by them finds it again."""
    return with_own(
        Decision(
            feedstock,
            figure,
            None if number is None else float(number),
            words if figure == NAME else chosen,
            since,
            why,
        )
        for feedstock, figure, number, words, chosen, since, why in rows
    )
