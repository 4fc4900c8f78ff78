"""Old notebooks that somebody brings in by a page: how far each is, and which rows of the ledger it made."""

import uuid

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from heaps.models.ground import Bay, Site


class ImportRun(models.Model):
    """One file on its way in, or out again. The file itself lies in a folder, not here.

    `place` counts the good lines that were taken from the file, and moves in the transaction that takes them.
    """

    class State(models.TextChoices):
        COLUMNS = "columns", _("its columns are to be matched")
        READING = "reading", _("being read")
        READ = "read", _("read, nothing brought in yet")
        GOING = "going", _("being brought in")
        STOPPED = "stopped", _("stopped")
        DONE = "done", _("brought in")
        BACK = "back", _("being taken back")
        GONE = "gone", _("taken back")

    class Of(models.TextChoices):
        NOTEBOOK = "notebook", _("a notebook: drop-offs, readings, harvests")
        LOGGER = "logger", _("a temperature logger's file")

    uid = models.UUIDField(unique=True, default=uuid.uuid4)
    file_name = models.CharField(max_length=100, blank=True)  # empty once names are too old
    digest = models.CharField(max_length=64)  # SHA-256 of the file, by which it is known again
    of = models.CharField(max_length=10, choices=Of, default=Of.NOTEBOOK)
    site = models.ForeignKey(Site, models.SET_NULL, null=True, related_name="+")  # meant where a line names none
    bay = models.ForeignKey(Bay, models.CASCADE, null=True, related_name="+")  # that a logger's probes are in
    columns = models.JSONField(default=list)  # what each column of the file is taken for
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    state = models.CharField(max_length=8, choices=State)
    lines = models.PositiveIntegerField(default=0)  # good lines in the file
    bad = models.PositiveIntegerField(default=0)
    place = models.PositiveIntegerField(default=0)
    went_in = models.PositiveIntegerField(default=0)
    here_already = models.PositiveIntegerField(default=0)
    taken_back = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return self.file_name or str(_("a file"))


class ImportPart(models.Model):
    """The rows of the ledger that one step of an import made: nobody else appends between the first and the last."""

    run = models.ForeignKey(ImportRun, models.CASCADE, related_name="parts")
    first = models.PositiveBigIntegerField()
    last = models.PositiveBigIntegerField()

    class Meta:
        ordering = ["first"]

    def __str__(self) -> str:
        return f"{self.first} to {self.last}"
