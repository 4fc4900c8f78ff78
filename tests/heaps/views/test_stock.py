"""What stands in store, and what a site asks everybody for."""

from datetime import date, timedelta
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from heaps.calls import next_saturday
from heaps.models import Call, Site

pytestmark = pytest.mark.ledger
WORDS = "We need 4 sacks of dry leaves."


def ago(days: int):
    return timezone.now() - timedelta(days=days)


def text(answer) -> str:
    return unescape(answer.content.decode())


def test_a_count_its_age_and_what_went_since_are_told(client_of, member, bay, keep) -> None:
    keep("stocktake", None, ago(12), feedstock="straw-wheat", half_containers=9, container_ml=54_000)
    keep("dropoff", bay, ago(3), feedstock="straw-wheat", half_containers=3, container_ml=54_000)
    keep("stocktake", None, ago(2), half_containers=9, container_ml=40_000)  # bags of compost are another store
    page = text(client_of(member).get(reverse("heaps:stock")))
    assert "3 × 54 litres" in page and "12 days ago" in page and "81 litres went into heaps since" in page
    assert page.count("Counted on") == 1
    assert f'/drop-off/more/#stock={bay.site.uid}"' in page


@pytest.mark.parametrize("fill, asked", [(0, False), (90, True)])
def test_what_does_not_fit_into_the_bay_is_said_to(client_of, member, bay, keep, fill: int, asked: bool) -> None:
    keep("stocktake", None, ago(3), feedstock="cardboard", half_containers=40, container_ml=80_000)
    keep("dropoff", bay, ago(2), feedstock="grass-fresh", half_containers=20, container_ml=80_000)
    keep("reading", bay, ago(1), fill_per_cent=fill)
    page = text(client_of(member).get(reverse("heaps:heap", args=[bay.uid])))
    assert "cardboard" in page and ("Move part of the heap into another bay first" in page) == asked


@pytest.mark.parametrize("days, asked", [(30, False), (31, True)])
def test_an_old_count_is_not_relied_on_unseen(client_of, member, bay, keep, days: int, asked: bool) -> None:
    keep("stocktake", None, ago(days), feedstock="straw-wheat", half_containers=40, container_ml=54_000)
    keep("dropoff", bay, ago(1), feedstock="grass-fresh", half_containers=40, container_ml=10_000)
    page = text(client_of(member).get(reverse("heaps:heap", args=[bay.uid])))
    assert "What to add" in page and ("look what is there first" in page) == asked


@pytest.mark.parametrize(
    "today, then", [("2026-11-25", "2026-11-28"), ("2026-11-27", "2026-11-28"), ("2026-11-28", "2026-12-05")]
)
def test_the_saturday_that_comes(today: str, then: str) -> None:
    assert str(next_saturday(date.fromisoformat(today))) == then


def test_two_taps_from_the_advice_to_the_page_for_everybody(client_of, coordinator, bay, keep, site: Site) -> None:
    keep("dropoff", bay, ago(1), feedstock="grass-fresh", half_containers=40, container_ml=10_000)
    client = client_of(coordinator)
    heap = text(client.get(reverse("heaps:heap", args=[bay.uid])))
    address = reverse("heaps:calls", args=[site.uid]) + f"?heap={bay.uid}"
    assert f'href="{address}"' in heap
    form = client.get(address).context["form"]
    words, until = form["words"].value(), form["until"].value()
    assert words.startswith("We need ") and words.endswith(f" at {site}.")
    answer = client.post(address, {"words": words, "until": until}, follow=True)
    assert words in text(answer) and reverse("heaps:public_site", args=[site.uid]) in text(answer)
    public = text(client_of(None).get(reverse("heaps:public_site", args=[site.uid])))
    assert words in public and until.strftime("%-d") in public


def test_it_stands_until_its_day_is_over_or_it_is_taken_down(client_of, steward, site: Site) -> None:
    today = site.day_of(timezone.now())
    for says, days in (("Old straw", -1), ("Leaves today", 0), ("Chips soon", 5)):
        Call.objects.create(site=site, says=says, until=today + timedelta(days=days), made_at=timezone.now())
    where, client = reverse("heaps:public_site", args=[site.uid]), client_of(steward)
    page = text(client_of(None).get(where))
    assert "Old straw" not in page and "Leaves today" in page and "Chips soon" in page
    chips = Call.objects.get(says="Chips soon")
    client.post(reverse("heaps:calls", args=[site.uid]), {"says": "down", "which": chips.pk})
    assert "Chips soon" not in text(client_of(None).get(where))
    assert Call.objects.count() == 2


def test_another_site_s_call_is_not_taken_down_here(client_of, steward, site: Site, other_site: Site) -> None:
    theirs = Call.objects.create(site=other_site, says=WORDS, until="2126-05-01", made_at=timezone.now())
    client_of(steward).post(reverse("heaps:calls", args=[site.uid]), {"says": "down", "which": theirs.pk})
    assert Call.objects.filter(pk=theirs.pk).exists()


@pytest.mark.parametrize("until", ["", "soon", "2020-01-01", "2126-01-01"])
def test_what_was_typed_comes_back_with_what_is_wrong(client_of, coordinator, site: Site, until: str) -> None:
    answer = client_of(coordinator).post(reverse("heaps:calls", args=[site.uid]), {"words": WORDS, "until": until})
    assert WORDS in text(answer) and 'role="alert"' in text(answer)
    assert not Call.objects.exists()
