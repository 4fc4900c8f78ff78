"""The command that proves that what is kept beside the ledger is true to it, and mends it."""

import io
from collections.abc import Callable
from datetime import datetime

import pytest
from django.core.management import call_command
from django.db.models import F

from heaps import history
from heaps.models import Bay, DayTotal, Site, StoredBay


def rebuild(*options: str) -> tuple[int, str]:
    said = io.StringIO()
    try:
        call_command("rebuild_totals", *options, stdout=said)
    except SystemExit as end:
        return int(end.code or 0), said.getvalue()
    return 0, said.getvalue()


@pytest.fixture
def load(keep, bay: Bay, at: Callable[..., datetime]) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=4, container_ml=10_000)


def test_no_drift(load: None) -> None:
    assert rebuild("--check") == (0, "drift = 0\n")


def test_drift_is_listed_and_left_alone_by_a_check(load: None, site: Site) -> None:
    DayTotal.objects.update(wet_g=F("wet_g") + 1)
    StoredBay.objects.all().delete()
    before = history.drift(site)
    code, said = rebuild("--check")
    assert (code, said.splitlines()) == (1, [*before, "drift = 2"])
    assert history.drift(site) == before


def test_a_rebuild_mends_it(load: None, site: Site) -> None:
    DayTotal.objects.update(wet_g=F("wet_g") + 1)
    assert rebuild() == (0, "drift = 0\n")
    assert history.drift(site) == []
