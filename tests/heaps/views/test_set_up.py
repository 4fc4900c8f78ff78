"""Set-up: sites, bays, containers, and what already lies in a bay."""

import uuid
from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from heaps import history
from heaps.models import Bay, Container, DayTotal, Entry, Site, StoredBay
from members.models import Member

pytestmark = pytest.mark.ledger  # locks and searches in JSON are the database's own

BAY = {"name": "Bay 9", "position": "4", "kind": "open", "length_cm": "150", "width_cm": "120", "height_cm": "120"}
BUCKET = {"name": "sack", "litres": "60", "fill_per_cent": "80"}


@pytest.fixture
def browser(client_of: Callable[[Member | None], Client], coordinator: Member) -> Client:
    return client_of(coordinator)


def opening(**changes: str) -> dict[str, str]:
    """A filled-in form for what already lies in a bay."""
    said = {"uid": str(uuid.uuid4()), "fill_per_cent": "60", "age": "2", "age_in": "months"}
    shares = {"material_0": "grass-fresh", "share_0": "70", "material_1": "cardboard", "share_1": "30"}
    return {**said, **shares, **changes}


def test_an_empty_cooperative_is_led_from_step_to_step(
    client_of: Callable[[Member | None], Client], administrator: Member
) -> None:
    browser = client_of(administrator)
    assert "Next: add the first site." in browser.get("/set-up/").content.decode()
    browser.post("/set-up/sites/add/", {"name": "Lane Side", "time_zone": "Europe/London"})
    site = Site.objects.get()
    assert "Next: add the bays of Lane Side" in browser.get("/set-up/").content.decode()
    browser.post(f"/set-up/sites/{site.uid}/bays/add/", BAY)
    assert "Next: add what loads come in at Lane Side" in browser.get("/set-up/").content.decode()
    browser.post(f"/set-up/sites/{site.uid}/containers/add/", BUCKET)
    assert "Next: add the people" in browser.get("/set-up/").content.decode()
    browser.post("/set-up/people/add/", {"name": "Ada", "username": "ada", "password": "leaves and straw"})
    assert "Next:" not in browser.get("/set-up/").content.decode()
    bay, sack = Bay.objects.get(), Container.objects.get()
    assert (bay.site, bay.volume_ml) == (site, 150 * 120 * 120)
    assert (sack.site, sack.filled_ml) == (site, 48_000)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"height_cm": "12o"}, "Height must be a whole number of centimetres, like 120."),
        ({"height_cm": ""}, "Height must be a whole number of centimetres, like 120."),
        ({"height_cm": "301"}, "Height must be from 20 to 300 centimetres."),
        ({"length_cm": "1.5"}, "Length must be a whole number of centimetres, like 150."),
        ({"width_cm": "2001"}, "Width must be from 20 to 2,000 centimetres."),
        ({"position": "-1"}, "Place in the row must be from 1 to 500 bays from the gate."),
        ({"name": "Bay 1"}, "There is already one with this name at this site. Choose another."),
        ({"name": " "}, "Name of the bay is missing. Type it, like Bay 1."),
        ({"kind": "pit"}, "pit"),
    ],
)
def test_a_wrong_bay_is_not_kept_and_the_form_says_why(
    browser: Client, site: Site, wrong: dict[str, str], says: str
) -> None:
    page = browser.post(f"/set-up/sites/{site.uid}/bays/add/", {**BAY, **wrong}).content.decode()
    field = next(iter(wrong))
    assert says in page
    assert f'<a href="#id_{field}">' in page
    assert field == "kind" or f'value="{wrong[field]}"' in page or not wrong[field].strip()
    assert site.bays.count() == 3


def test_two_sites_have_two_names(
    client_of: Callable[[Member | None], Client], site: Site, administrator: Member
) -> None:
    said = {"name": "Lane Side", "time_zone": "Europe/London"}
    page = client_of(administrator).post("/set-up/sites/add/", said).content.decode()
    assert "There is already a site with this name. Choose another." in page
    said = {"name": "Far Field", "time_zone": "Europe/Nowhere"}
    assert client_of(administrator).post("/set-up/sites/add/", said).status_code == 200
    assert Site.objects.count() == 1


@pytest.mark.parametrize("litres", ["0", "5001", "ten", "1e3", "NaN"])
def test_a_container_holds_1_to_5000_litres(browser: Client, site: Site, litres: str) -> None:
    page = browser.post(f"/set-up/sites/{site.uid}/containers/add/", {**BUCKET, "litres": litres}).content.decode()
    assert "It holds must be" in page
    assert site.containers.count() == 2


def test_a_bay_nobody_has_recorded_for_can_be_taken_away(browser: Client, bay: Bay) -> None:
    assert browser.post(f"/set-up/bays/{bay.uid}/take-away/")["Location"] == "/set-up/"
    assert not Bay.objects.filter(pk=bay.pk).exists()


def test_a_used_bay_stays_and_can_be_renamed(
    browser: Client, bay: Bay, keep: Callable[..., object], at: Callable[..., object]
) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=2, container_ml=10_000)
    answer = browser.post(f"/set-up/bays/{bay.uid}/take-away/", follow=True)
    assert "is in the ledger and stays" in answer.content.decode()
    browser.post(f"/set-up/bays/{bay.uid}/", {**BAY, "name": "By the hedge"})
    bay.refresh_from_db()
    assert bay.name == "By the hedge"


def test_a_bay_that_a_turn_took_from_stays(
    browser: Client, bay: Bay, second_bay: Bay, keep: Callable[..., object], at: Callable[..., object]
) -> None:
    keep("turn", second_bay, at(5, 1), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    StoredBay.objects.all().delete()
    browser.post(f"/set-up/bays/{bay.uid}/take-away/")
    assert Bay.objects.filter(pk=bay.pk).exists()


def test_a_container_taken_away_leaves_loads_as_they_were(
    browser: Client, bay: Bay, bucket: Container, keep: Callable[..., object], at: Callable[..., object]
) -> None:
    load = {"feedstock": "grass-fresh", "half_containers": 2, "container_ml": 10_000, "container": str(bucket.uid)}
    keep("dropoff", bay, at(5, 1), **load)
    totals = DayTotal.objects.values_list("bay", "day", "detail", "entries", "wet_g")
    before = list(Entry.objects.values()), list(totals)
    assert browser.post(f"/set-up/containers/{bucket.uid}/take-away/").status_code == 302
    assert (list(Entry.objects.values()), list(totals.all())) == before
    assert history.drift(bay.site) == []


def test_a_container_is_taken_away_under_the_ledger_s_lock(browser: Client, bucket: Container) -> None:
    """In the order of letters: with rows gone before the lock, each would wait for the other."""
    with CaptureQueriesContext(connection) as asked:
        browser.post(f"/set-up/containers/{bucket.uid}/take-away/")
    said = [one["sql"] for one in asked.captured_queries]
    (locked,) = [place for place, sql in enumerate(said) if '"heaps_ledger"' in sql and sql.startswith("SELECT")][:1]
    assert locked < min(place for place, sql in enumerate(said) if sql.startswith("DELETE"))


def test_another_clock_moves_loads_near_midnight_to_their_own_days(
    client_of: Callable[[Member | None], Client],
    administrator: Member,
    bay: Bay,
    keep: Callable[..., object],
    at: Callable[..., object],
) -> None:
    keep("dropoff", bay, at(5, 1, 13), feedstock="grass-fresh", half_containers=2, container_ml=10_000)
    said = {"name": bay.site.name, "time_zone": "Pacific/Auckland"}
    assert client_of(administrator).post(f"/set-up/sites/{bay.site.uid}/", said).status_code == 302
    assert DayTotal.objects.get().day.isoformat() == "2026-05-02"
    bay.site.refresh_from_db()
    assert history.drift(bay.site) == []


def test_what_already_lies_in_a_bay_goes_into_the_ledger_and_counts_as_no_input(
    browser: Client, bay: Bay, coordinator: Member
) -> None:
    said = opening()
    for _tap in range(2):
        browser.post(f"/set-up/bays/{bay.uid}/already-in-it/", said)
    entry = Entry.objects.get()
    assert (str(entry.uid), entry.kind, entry.person) == (said["uid"], "opening", coordinator)
    assert entry.details["volume_ml"] == 600_000
    assert entry.details["age_days"] == 60
    assert sorted(entry.details["make_up"]) == [["cardboard", 30], ["grass-fresh", 70]]
    batch = StoredBay.objects.get(bay=bay).state["batch"]
    assert set(batch["content"]) == {"grass-fresh/opening", "cardboard/opening"}
    assert not DayTotal.objects.filter(what="came in").exists()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"share_1": "20"}, "The shares must add up to 100 per cent."),
        ({"share_1": ""}, "Share is missing."),
        ({"material_1": ""}, "Material is missing."),
        ({"material_1": "grass-fresh"}, "This material stands above already."),
        ({"material_1": "meat-fish"}, "Choose one from the list."),
        ({"fill_per_cent": "full"}, "Filled to must be a whole number of per cent, like 60."),
        ({"age": "400"}, "That is more than ten years."),
        ({"uid": "x"}, "open this page again"),
    ],
)
def test_a_wrong_opening_is_not_kept(browser: Client, bay: Bay, wrong: dict[str, str], says: str) -> None:
    page = browser.post(f"/set-up/bays/{bay.uid}/already-in-it/", opening(**wrong)).content.decode()
    assert says in page
    assert not Entry.objects.exists()


def test_more_than_the_ledger_takes_is_refused_in_plain_words(browser: Client, bay: Bay) -> None:
    Bay.objects.filter(pk=bay.pk).update(length_cm=2000, width_cm=2000, height_cm=300)
    page = browser.post(f"/set-up/bays/{bay.uid}/already-in-it/", opening()).content.decode()
    assert "That is more than 50,000 litres." in page


def test_a_bay_in_use_explains_why_no_guess_is_asked_for(
    browser: Client, bay: Bay, keep: Callable[..., object], at: Callable[..., object]
) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=2, container_ml=10_000)
    page = browser.post(f"/set-up/bays/{bay.uid}/already-in-it/", opening()).content.decode()
    assert "is in use" in page
    assert Entry.objects.count() == 1
