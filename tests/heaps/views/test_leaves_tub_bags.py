"""The leaf clock, the soaking tub, bags in store and their labels."""

import pytest
from django.utils import timezone

from tests.heaps.views.conftest import A_BUCKET, text_of

pytestmark = pytest.mark.django_db


def test_a_leaf_bin_has_its_clock_and_sources_that_differ(site, keep, ago, client_of, member) -> None:
    bin_ = site.bays.get(name="Leaf bin")
    keep("dropoff", bin_, ago(30), feedstock="leaves-thick", half_containers=8, container_ml=80_000)
    keep("dropoff", bin_, ago(30), feedstock="leaves-quick", half_containers=8, container_ml=80_000)
    told = text_of(client_of(member).get(f"/heaps/{bin_.uid}/"))
    assert "The leaf clock" in told and "(the slowest: it decides)" in told
    assert "Sources differ. Out of doors the maples" in told and "If they were shredded: a mulch from" in told
    assert "That is as it should be in their second year." in told
    keep("reading", bin_, ago(1), squeeze="dust")
    told = text_of(client_of(member).get(f"/heaps/{bin_.uid}/"))
    assert "Wet it now: dry leaves stand still." in told and "A mulch from" not in told


def test_a_leaf_bin_is_not_asked_to_heat(site, bay, keep, ago, client_of, member) -> None:
    bin_ = site.bays.get(name="Leaf bin")
    browser = client_of(member)
    for one, asked in ((bin_, False), (bay, True)):
        keep("dropoff", one, ago(30), feedstock="leaves-oak", half_containers=8, container_ml=80_000)
        told = text_of(browser.get(f"/heaps/{one.uid}/"))
        assert "Is it ready?" in told and "What do you see?" in told
        for word in ("Hot enough?", "Build a hot heap", "Nitrogen: how much?"):
            assert (word in told) == asked, word


def test_another_bay_has_no_leaf_clock(bay, keep, ago, client_of, member) -> None:
    keep("dropoff", bay, ago(30), feedstock="leaves-oak", half_containers=8, container_ml=80_000)
    assert "The leaf clock" not in text_of(client_of(member).get(f"/heaps/{bay.uid}/"))


def test_the_tub_says_what_may_come_out_when(site, keep, at, client_of, member, monkeypatch) -> None:
    keep("soak", None, at(5, 1), weed="couch", way="in", half_containers=2, container_ml=30_000)
    keep("soak", None, at(5, 1), weed="dock", way="in", half_containers=2, container_ml=30_000)
    monkeypatch.setattr(timezone, "now", lambda: at(5, 25))
    told = text_of(client_of(member).get("/tub/"))
    assert "Look at it today: some may come out." in told
    assert "Couch grass , 30 litres, in since 1 May 2026. May come out, if all is soft and brown." in told
    assert "Dock , 30 litres, in since 1 May 2026. Look on 12 Jun 2026, not before." in told
    assert "Seed may live: tip it into the middle of a hot heap." in told and "Never in the tub" in told
    assert "Seed heads 6 to 12 No: dry seed lives on for years" in told and "Another weed 6 to 12" in told
    assert f"#soak={site.uid}" in client_of(member).get("/tub/").content.decode()
    keep("soak", None, at(5, 26), weed="couch", way="out", half_containers=2, container_ml=30_000)
    monkeypatch.setattr(timezone, "now", lambda: at(5, 27))
    assert "Couch grass , 30 litres" not in text_of(client_of(member).get("/tub/"))


HARVEST = {"half_bags": 12, "bag_ml": 40_000, "per_cent": 100, "sieved": "sieved"}


def test_bags_in_store_and_a_label_for_each_batch(site, bay, keep, at, client_of, member) -> None:
    keep("dropoff", bay, at(2, 1), feedstock="horse-manure-straw", **A_BUCKET)
    keep("dropoff", bay, at(2, 3), feedstock="coffee", **A_BUCKET)
    made = keep("harvest", bay, at(5, 1), **HARVEST)
    keep("dropoff", bay, at(5, 2), feedstock="cardboard", **A_BUCKET)
    keep("collection", None, at(5, 3), half_bags=5, bag_ml=40_000)
    browser = client_of(member)
    page = browser.get("/collect/")
    assert "3½ bags of 40 litres" in text_of(page) and f"/bags/{made.uid}/label/" in page.content.decode()
    assert "Bay 1: 6 bags, sieved" in text_of(page) and f"#bags={site.uid}" in page.content.decode()
    told = text_of(browser.get(f"/bags/{made.uid}/label/"))
    assert "Compost, sieved, 40 litres" in told and "Begun 1 Feb 2026, last load 3 Feb 2026" in told
    assert "What went in: Horse manure" in told and "Coffee grounds" in told and "ardboard" not in told
    assert "Sow a few beans in it first" in told and "not in pots" in told and "Gloves on." in told
    keep("correction", None, at(5, 4), corrects=made.uid, says="withdraw")
    assert browser.get(f"/bags/{made.uid}/label/").status_code == 404


def test_a_site_without_bags_can_count_them_too_and_one_bag_is_one(site, keep, at, client_of, member) -> None:
    browser = client_of(member)
    told = text_of(browser.get("/collect/"))
    assert "No bags have been made or counted here yet." in told and f"Count the bags at {site}" in told
    keep("stocktake", None, at(5, 1), half_containers=2, container_ml=40_000)
    assert "1 bag of 40 litres (counted 1 May 2026: 1)" in text_of(browser.get("/collect/"))


def test_a_label_names_what_came_by_turns_and_that_it_was_found_ready(bay, second_bay, keep, at, client_of, member):
    keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    keep("turn", second_bay, at(3, 1), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    keep("verdict", second_bay, at(4, 1), test="look", ready="ready", look="earthy")
    made = keep("harvest", second_bay, at(5, 1), **HARVEST)
    told = text_of(client_of(member).get(f"/bags/{made.uid}/label/"))
    assert "Begun 1 Feb 2026" in told and "Coffee grounds" in told and "not in pots" not in told


def test_a_label_of_something_else_is_not_there(bay, keep, at, client_of, member) -> None:
    load = keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    assert client_of(member).get(f"/bags/{load.uid}/label/").status_code == 404
