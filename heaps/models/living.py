"""What is kept of the living heap: the forecast of each heap, and of each ended one what had been said of it."""

from django.db import models

from heaps.models.ground import Bay, Site


class KeptForecast(models.Model):
    """What was last forecast of the heap in a bay: `batch` is the heap's, `made_on` the site's day.

    `carried` is how often the bay's state had been carried on by then (`StoredBay.carried`): once that is another
    number, something was recorded that the forecast does not know of.
    """

    OLD = -1  # no state has been carried on so often

    bay = models.OneToOneField(Bay, models.CASCADE, related_name="forecast")
    batch = models.CharField(max_length=36)
    made_on = models.DateField()
    carried = models.IntegerField(default=OLD)
    says = models.JSONField()

    def __str__(self) -> str:
        return f"{self.batch} on {self.made_on}"


class KeptLesson(models.Model):
    """A heap that came to an end as bags, by the entry that emptied its bay: what had been said, and what came out.

    `key` is a digest of all that it was made from, so that it is made anew after a correction.
    """

    site = models.ForeignKey(Site, models.CASCADE, related_name="lessons")
    bay = models.ForeignKey(Bay, models.CASCADE, related_name="lessons")
    uid = models.CharField(max_length=36, unique=True)
    key = models.CharField(max_length=64)
    ended_on = models.DateField()
    says = models.JSONField()

    class Meta:
        ordering = ["-ended_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.bay_id} until {self.ended_on}"
