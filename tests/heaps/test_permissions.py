"""Papers in date and out of it, and what lies at a site against its caps."""

from datetime import date

import pytest

from heaps.ledger import Load
from heaps.models import Bay, Papers, Site
from heaps.permissions import due, held, lying_at, papers_of


def fresh(site: Site) -> Site:
    return Site.objects.get(pk=site.pk)


@pytest.mark.parametrize(
    "until, is_due, is_over",
    [
        (None, False, False),
        (date(2026, 7, 1), False, False),
        (date(2026, 6, 30), True, False),
        (date(2026, 5, 1), True, False),
        (date(2026, 4, 30), True, True),
    ],
)
def test_a_paper_is_due_from_sixty_days_before_its_last_day(site, until, is_due: bool, is_over: bool) -> None:
    Papers.objects.create(site=site, insurance="GL 1", insurance_until=until)
    paper = papers_of(fresh(site), date(2026, 5, 1))[1]
    assert (paper.title, paper.is_due, paper.is_over) == ("Insurance", is_due, is_over)


def test_the_most_pressing_comes_first(site: Site, other_site: Site, at) -> None:
    Papers.objects.create(site=other_site, permit_until=date(2026, 5, 20), consent_until=date(2027, 1, 1))
    Papers.objects.create(site=site, insurance_until=date(2026, 5, 10))
    found = [(place.name, paper.title) for place, paper in due(Site.objects.all(), at(5, 1))]
    assert found == [("Lane Side", "Insurance"), ("Far Field", "Exemption or permit")]


@pytest.mark.ledger
def test_what_lies_there_is_what_was_tipped_less_what_left(site: Site, bay: Bay, second_bay: Bay, keep, at) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=20, container_ml=10_000, weighed_g=50_000)
    keep("dropoff", bay, at(5, 1, 11), feedstock="coffee", half_containers=2, container_ml=10_000)
    keep("dropoff", second_bay, at(5, 1), feedstock="cardboard", half_containers=2, container_ml=80_000)
    there = lying_at(fresh(site))
    assert there["coffee"].volume_ml == 110_000 and there["coffee"].wet_g > 50_000
    assert there["cardboard"].volume_ml == 80_000
    keep("tip_out", second_bay, at(5, 2))
    assert set(lying_at(fresh(site))) == {"coffee"}


def test_a_cap_counts_its_material_or_everything(site: Site, bay: Bay, keep, at) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=20, container_ml=10_000, weighed_g=50_001)
    keep("dropoff", bay, at(5, 2), feedstock="cardboard", half_containers=2, container_ml=80_000, weighed_g=4_000)
    site.caps.create(unit="litres", most=180)
    site.caps.create(feedstock="coffee", unit="kg", most=50)
    site.caps.create(feedstock="hay", unit="kg", most=1)
    (one,) = held([fresh(site)], at(5, 3))
    told = [(cap.material, cap.there, cap.per_cent, cap.is_over) for cap in one.caps]
    assert told == [
        ("Everything together", 180, 100, False),
        ("Coffee grounds", 51, 102, True),
        ("Hay, dry", 0, 0, False),
    ]
    assert one.all_there == Load(55_000, 180_000)  # rounded up, as beside a cap
