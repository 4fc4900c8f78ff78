"""The pages about materials: what changes is seen before it is done, and stands there afterwards."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest
from django.test import Client

from heaps import gate, history
from heaps.importing.ground import Ground
from heaps.models import Bay, Container, DayTotal, OwnValue, Site, known_materials
from heaps.science.feedstocks import FEEDSTOCKS
from members.models import Member

pytestmark = pytest.mark.ledger
At = Callable[..., datetime]
A_BUCKET: dict[str, Any] = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
PAGE = "/set-up/materials/coffee/"
DENSITY = {"says": "density", "number": "400", "holds": "all", "reason": "weighed 12 buckets"}
MALT = {"relative": "hops", "name": "Malt dust", "reason": "swept up"}


@pytest.fixture
def browser(client_of: Callable[[Member | None], Client], coordinator: Member) -> Client:
    return client_of(coordinator)


@pytest.fixture
def coffee(keep: Any, bay: Bay, at: At) -> None:
    """Ten litres in each of two years."""
    for moment in (at(5, 1), at(5, 1).replace(year=2025)):
        keep("dropoff", bay, moment, **A_BUCKET)


def sealed(page: str) -> str:
    """The seal of a page that asks whether to go on."""
    return page.split('name="seen" value="')[1].split('"')[0]


def confirm(browser: Client, said: dict[str, str]) -> str:
    """Send a form, look at what it would do, and go on."""
    asked = browser.post(PAGE, said).content.decode()
    return browser.post(PAGE, {**said, "seen": sealed(asked)}, follow=True).content.decode()


def grams() -> int:
    return sum(row.wet_g for row in DayTotal.objects.filter(detail="coffee"))


def test_what_a_year_goes_to_is_seen_before_it_is_done(browser: Client, coffee: None, site: Site) -> None:
    before = grams()
    page = browser.post(PAGE, DENSITY).content.decode()
    usual = FEEDSTOCKS["coffee"].density_kg_m3 or 0
    assert f"The year 2025 goes from {usual / 100:.1f} kg to 4 kg." in page
    assert "Reports that you have given out keep the old sums." in page
    assert not OwnValue.objects.exists() and grams() == before
    done = browser.post(PAGE, {**DENSITY, "seen": sealed(page)}, follow=True).content.decode()
    assert "Kept." in done and f"The year 2026 went from {usual / 100:.1f} kg to 4 kg." in done
    assert grams() == 8_000 and history.drift(site) == []
    assert f"Published: {usual} kg" in done and "weighed 12 buckets" in done
    assert "went from" in browser.get("/set-up/materials/").content.decode()


def test_it_can_be_taken_back(browser: Client, coffee: None) -> None:
    before = grams()
    confirm(browser, DENSITY)
    page = confirm(browser, {"says": "back", "which": "density"})
    assert "as published" in page and grams() == before


def test_the_year_s_own_page_tells_of_it(browser: Client, coffee: None) -> None:
    confirm(browser, {**DENSITY, "holds": "since", "day": "2026-01-01"})
    usual = (FEEDSTOCKS["coffee"].density_kg_m3 or 0) / 100
    assert (
        f"Coffee grounds: what came in went from {usual:.3f} kg to 4.000 kg"
        in browser.get("/year/2026/").content.decode()
    )
    assert "what came in went from" not in browser.get("/year/2025/").content.decode()


def test_from_a_day_on_older_loads_stay(browser: Client, coffee: None) -> None:
    page = browser.post(PAGE, {**DENSITY, "holds": "since", "day": "2026-01-01"}).content.decode()
    assert "The year 2026 goes" in page and "The year 2025" not in page
    confirm(browser, {**DENSITY, "holds": "since", "day": "2026-01-01"})
    assert grams() == 4_000 + 10 * (FEEDSTOCKS["coffee"].density_kg_m3 or 0)


def test_what_was_recorded_meanwhile_is_seen_first(browser: Client, coffee: None, keep: Any, bay: Bay, at: At) -> None:
    seal = sealed(browser.post(PAGE, DENSITY).content.decode())
    keep("dropoff", bay, at(5, 2), **A_BUCKET)
    page = browser.post(PAGE, {**DENSITY, "seen": seal}).content.decode()
    assert "Something was recorded meanwhile." in page and not OwnValue.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"number": ""}, "This must be a whole number, like 180."),
        ({"number": "a lot"}, "This must be a whole number, like 180."),
        ({"number": "180.5"}, "This must be a whole number, like 180."),
        ({"number": "4"}, "This cannot be: it must be from 5 to 3,000."),
        ({"number": "1e99"}, "This cannot be: it must be from 5 to 3,000."),
        ({"number": "NaN"}, "This must be a whole number, like 180."),
        ({"reason": ""}, "How you know is missing."),
        ({"holds": "ever"}, "Choose one from the list."),
        ({"holds": "since", "day": ""}, "The day is missing. Type it like 2026-05-03."),
        ({"holds": "since", "day": "soon"}, "This day cannot be read."),
        ({"holds": "since", "day": "9998-01-01"}, "This day has not come yet."),
        ({"holds": "since", "day": "1066-01-01"}, "This day is too long ago."),
    ],
)
def test_a_wrong_density_is_refused_and_stays_typed(
    browser: Client, site: Site, wrong: dict[str, str], says: str
) -> None:
    page = browser.post(PAGE, {**DENSITY, **wrong}).content.decode()
    assert says in page and not OwnValue.objects.exists()
    assert "reason" in wrong or 'value="weighed 12 buckets"' in page


def test_one_outside_what_the_sources_give_is_asked_about(browser: Client, site: Site) -> None:
    page = browser.post(PAGE, {**DENSITY, "number": "1500"}).content.decode()
    assert "1,500 is outside what the sources give" in page and not OwnValue.objects.exists()
    assert browser.post(PAGE, {**DENSITY, "number": "1500", "seen": sealed(page)}).status_code == 302


@pytest.mark.parametrize(
    ("figure", "number", "says"),
    [
        ("moisture", "100", "it must be from 0 to 99"),
        ("moisture", "wet", "This must be a number, like 2.5."),
        ("nitrogen", "26", "it must be from 0 to 25"),
        ("c_to_n", "0", "it must be from 0.5 to 2,000"),
        ("colour", "3", "Choose one from the list."),
        ("density", "300", "Choose one from the list."),
    ],
)
def test_a_wrong_figure_is_refused(browser: Client, site: Site, figure: str, number: str, says: str) -> None:
    said = {"says": "figure", "figure": figure, "number": number, "reason": "dried"}
    assert says in browser.post(PAGE, said).content.decode() and not OwnValue.objects.exists()


def test_a_figure_counts_for_the_heaps_and_moves_no_year(browser: Client, coffee: None, bay: Bay) -> None:
    before = grams()
    said = {"says": "figure", "figure": "moisture", "number": "55", "reason": "dried in the oven"}
    assert browser.post(PAGE, said).status_code == 302
    page = browser.get(f"/heaps/{bay.uid}/").content.decode()
    assert "Our own value" in page and "dried in the oven" in page and grams() == before


def test_a_name_and_a_stricter_word_reach_phones_guide_gate_and_report(
    browser: Client, client_of: Any, treasurer: Member, coffee: None, site: Site
) -> None:
    browser.post(PAGE, {"says": "name", "words": "Espresso pucks"})
    browser.post(PAGE, {"says": "gate", "chosen": "treat first", "reason": "dry it first"})
    (row,) = (one for one in gate.feedstocks() if one[0] == "coffee")
    assert (row[1], row[3], row[4]) == ("Espresso pucks", "treat first", "dry it first")
    assert "Espresso pucks" in browser.get("/drop-off/").content.decode()
    assert "dry it first" in browser.get("/guide/?q=espresso").content.decode().split("all-things")[0]
    public = client_of(None).get(f"/site/{site.uid}/").content.decode()
    assert "Espresso pucks" in public and "dry it first" in public
    browser.post(PAGE, {"says": "back", "which": "gate"})
    browser.post(PAGE, {"says": "back", "which": "name"})
    assert dict(known_materials()) == FEEDSTOCKS


@pytest.mark.parametrize("word", ["yes", "with care", "odd"])
def test_no_gate_is_loosened(browser: Client, site: Site, word: str) -> None:
    listed = FEEDSTOCKS["peelings"].acceptance
    said = {"says": "gate", "chosen": word, "reason": "please"}
    page = browser.post("/set-up/materials/peelings/", said).content.decode()
    assert listed == "with care" and "Choose one from the list." in page and not OwnValue.objects.exists()


def test_an_own_material_is_brought_found_and_reported(
    browser: Client, client_of: Any, treasurer: Member, keep: Any, bay: Bay, at: At
) -> None:
    added = browser.post("/set-up/materials/add/", {**MALT, "density": "410"})
    key = added["Location"].split("/")[-2]
    (row,) = (one for one in gate.feedstocks() if one[0] == key)
    assert (row[1], row[3], row[6]) == (MALT["name"], FEEDSTOCKS["hops"].acceptance, 410)
    keep("dropoff", bay, at(5, 1), feedstock=key, half_containers=2, container_ml=10_000)
    assert DayTotal.objects.get().wet_g == 4_100
    table = client_of(treasurer).get("/year/2026/came-and-went.csv").getvalue().decode()
    assert "Malt dust,estimated,1,4.100" in table
    assert MALT["name"] in browser.get("/guide/?q=malt+dust").content.decode().split("all-things")[0]
    for page in (f"/heaps/{bay.uid}/", f"/site/{bay.site.uid}/", "/heaps/", "/year/2026/", "/tray/"):
        assert browser.get(page).status_code == 200
    assert Ground.known().material("malt  DUST") == key
    browser.post(f"/set-up/materials/{key}/", {"says": "withdraw"})
    assert key not in [one[0] for one in gate.feedstocks()]
    assert MALT["name"] in browser.get(f"/heaps/{bay.uid}/").content.decode()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"relative": ""}, "Choose one from the list."),
        ({"relative": "moon-dust"}, "Choose one from the list."),
        ({"name": ""}, "What you call it is missing."),
        ({"name": "coffee GROUNDS"}, "There is already a material called so."),
        ({"name": "x" * 41}, "must be at most 40 characters"),
        ({"relative": "nappies", "acceptance": "treat first"}, "Its relative is stricter."),
        ({"relative": "nappies", "density": "200"}, "Its relative has no such figure."),
        ({"moisture": "120"}, "it must be from 0 to 99"),
        ({"reason": ""}, "What it is, and how you know the figures is missing."),
    ],
)
def test_a_wrong_material_is_not_made(browser: Client, site: Site, wrong: dict[str, str], says: str) -> None:
    page = browser.post("/set-up/materials/add/", {**MALT, **wrong}).content.decode()
    assert says in page and not OwnValue.objects.exists()


def test_an_own_material_takes_over_what_is_known_here_about_its_relative(browser: Client, site: Site) -> None:
    OwnValue.objects.create(
        feedstock="coffee", figure="density", number=400, reason="ours", decided_at="2026-05-01T00Z"
    )
    made = browser.post("/set-up/materials/add/", {**MALT, "relative": "coffee"})
    stuff = known_materials()[made["Location"].split("/")[-2]]
    assert stuff.density_kg_m3 == 400


def test_weighings_are_shown_and_their_mean_is_taken(browser: Client, coffee: None, keep: Any, at: At) -> None:
    for full_g in (5_000, 5_200, 4_600):
        keep("weighing", None, at(5, 3), feedstock="coffee", container_ml=10_000, full_g=full_g, empty_g=1_000)
    wrong = keep("weighing", None, at(5, 4), feedstock="coffee", container_ml=10_000, full_g=90_000, empty_g=1_000)
    keep("correction", None, at(5, 4), corrects=wrong.uid, says="withdraw")
    page = browser.get(PAGE).content.decode()
    assert "Weighed 3 times: 393 kg a cubic metre in the mean, from 360 to 420." in page
    assert "The year 2026 goes from" in page and "to 3.9 kg." in page
    assert "weighed 3 times, 393 kg a cubic metre" in browser.get("/set-up/materials/").content.decode()
    offered = browser.get(f"{PAGE}?weighed=1").content.decode()
    assert 'value="393"' in offered and 'value="weighed 3 times: 360 to 420 kg"' in offered
    confirm(browser, {**DENSITY, "number": "393"})
    assert grams() == 7_860


def test_a_container_tells_what_it_was_and_its_loads_stay(
    browser: Client, bucket: Container, coffee: None, keep: Any, at: At
) -> None:
    before = grams()
    said = {"name": "bucket", "litres": "12", "fill_per_cent": "100"}
    browser.post(f"/set-up/containers/{bucket.uid}/", said)
    browser.post(f"/set-up/containers/{bucket.uid}/", {**said, "name": "pail"})
    weighed = {"feedstock": "coffee", "container_ml": 10_000, "full_g": 5_000, "empty_g": 1_000}
    keep("weighing", None, at(5, 3), container=str(bucket.uid), **weighed)
    keep("weighing", None, at(5, 3), **weighed)
    page = browser.get(f"/set-up/containers/{bucket.uid}/").content.decode()
    assert page.count("10 litres, usually 100 % full") == 1 and grams() == before
    assert page.count("Coffee grounds: 10 litres, 4.000 kg without the container") == 1
    assert bucket.was.get().litres == 10
