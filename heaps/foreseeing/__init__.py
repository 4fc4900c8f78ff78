"""Forecasts are made here, and nowhere else: of every heap once a day, of those that were touched since, never while
somebody waits for a page or a phone for its receipt."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from heaps.foreseeing.open_heaps import forecast_site
from heaps.foreseeing.past import learn_from
from heaps.models import KeptForecast, Site

__all__ = ["Made", "forecast_all"]

#: What numbers that nobody thought of may lead to. A database that rests ends the run; the next one makes the rest.
FAULTS = (ArithmeticError, LookupError, ValueError)


@dataclass(frozen=True)
class Made:
    """What was made at one site: forecasts of open heaps, and lessons of heaps that came to an end.

    `fault` is what kept it from that; the other sites have theirs all the same, and all of them without new lessons.
    """

    site: str
    forecasts: int
    lessons: int
    fault: str = ""


def forecast_all(now: datetime) -> Iterator[Made]:
    """Whatever is due, site by site: once a day what ended heaps teach, at any time the forecasts that are not of
    today or do not know of all that was recorded."""
    sites, lessons = list(Site.objects.all()), Counter[int]()
    try:
        lessons = learn_from(site for site in sites if _first_today(site, now))
    except FAULTS as fault:
        yield Made("What ended heaps teach", 0, 0, _plainly(fault))
    for site in sites:
        try:
            yield Made(site.name, forecast_site(site, now), lessons[site.pk])
        except FAULTS as fault:
            yield Made(site.name, 0, lessons[site.pk], _plainly(fault))


def _plainly(fault: Exception) -> str:
    return f"{type(fault).__name__}: {fault}"


def _first_today(site: Site, now: datetime) -> bool:
    """The whole ledger of a site is read for what ended heaps teach: that is for the night."""
    return not KeptForecast.objects.filter(bay__site=site, made_on=site.day_of(now)).exists()
