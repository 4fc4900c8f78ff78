"""The pages about permissions: kept, shown, on the first page in time, and always with a word about local rules."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from heaps.models import Papers, Site


@pytest.fixture
def browser(client_of, coordinator) -> Client:
    return client_of(coordinator)


def send(browser: Client, site: Site, says: str, **said: str):
    return browser.post(reverse("heaps:site_permissions", args=[site.uid]), {"says": says, **said})


def test_papers_are_kept_and_shown(browser: Client, site: Site) -> None:
    said = {"permit": "EX 77", "permit_until": "2125-01-02", "consent": "letter of May"}
    assert send(browser, site, "papers", **said).status_code == 302
    assert Papers.objects.get(site=site).permit_until == date(2125, 1, 2)
    page = browser.get(reverse("heaps:permissions")).content.decode()
    assert "✓ until 2 Jan 2125<br>EX 77" in page and "letter of May" in page
    assert "Always check local rules." in page and "waste-exemption-t23" in page
    answer = send(browser, site, "papers", permit="EX 78", permit_until="some day")
    assert "This day cannot be read" in answer.content.decode() and 'value="EX 78"' in answer.content.decode()
    assert Papers.objects.get(site=site).permit == "EX 77"


def test_a_cap_is_typed_in_tonnes_kept_once_and_taken_away(browser: Client, site: Site) -> None:
    for typed in ("20", "2,5", "2.5"):
        assert send(browser, site, "cap", feedstock="hay", typed=typed, unit="kg").status_code == 302
    assert site.caps.get().most == 2_500
    assert "Hay, dry: 2.5 tonnes" in browser.get(reverse("heaps:site_permissions", args=[site.uid])).content.decode()
    for odd in ("", "0", "-1", "lots", "0.0001", "999999", "1e99", "NaN"):
        answer = send(browser, site, "cap", feedstock="hay", typed=odd, unit="kg")
        assert answer.status_code == 200 and "The most must be a number above 0" in answer.content.decode(), odd
    send(browser, site, "away", which="hay/kg")
    assert not site.caps.exists()


def test_all_that_lies_there_is_one_number_wherever_it_stands(browser: Client, site: Site, bay, keep) -> None:
    keep("dropoff", bay, timezone.now(), feedstock="hay", half_containers=40, container_ml=400_000, weighed_g=4_142_300)
    site.caps.create(unit="kg", most=7_000)
    page = browser.get(reverse("heaps:permissions")).content.decode()
    assert "4,143 kg, 8,000 litres" in page and "4.143 of 7 tonnes" in page


def test_what_runs_out_stands_on_the_first_page_of_whoever_looks_after_all(
    client_of, site: Site, member, steward, coordinator, administrator
) -> None:
    Papers.objects.create(site=site, insurance="GL 1", insurance_until=timezone.now().date() + timedelta(days=50))
    for person, told in ((member, 0), (steward, 0), (coordinator, 1), (administrator, 1), (None, 0)):
        page = client_of(person).get(reverse("heaps:home")).content.decode()
        assert page.count("Insurance of Lane Side lasts only until") == told
