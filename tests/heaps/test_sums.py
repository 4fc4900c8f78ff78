"""What a phone is told of a bay to reckon on with, and which brown and green it may name."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest

from heaps import gate
from heaps.board.happened import line_of
from heaps.ledger.kinds import Stocktake
from heaps.models import Bay, Container, OwnValue, Site, known_materials
from heaps.science.blend import Part, blend
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.materials import PUBLISHED
from heaps.science.targets import MOISTURE_OF_SQUEEZE
from heaps.usual import Brought, Usual, dries, feeds, most_used

At = Callable[..., datetime]
REEDS = "own-0123456789ab"
A_BUCKET: dict[str, Any] = {"half_containers": 2, "container_ml": 10_000}
BARROWS: dict[str, Any] = {"half_containers": 8, "container_ml": 80_000}


def told_of(bay: Bay, now: datetime) -> dict[str, Any]:
    """What phones are told of one bay."""
    (site,) = gate.ground(now)["sites"]
    return next(one for one in site["bays"] if one["uid"] == str(bay.uid))


def decide(feedstock: str, figure: str, **what: Any) -> None:
    """What the cooperative said of a material, before anything was brought."""
    OwnValue.objects.create(feedstock=feedstock, figure=figure, decided_at=datetime(2026, 1, 1, tzinfo=UTC), **what)


def remedies(now: datetime) -> list[str | None]:
    """The usual brown and green as phones are told."""
    (site,) = gate.ground(now)["sites"]
    return [site[name] and site[name]["feedstock"] for name in ("brown", "green")]


def test_the_sums_are_those_of_all_that_went_in_with_the_water(keep: Any, bay: Bay, at: At) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", **A_BUCKET)
    keep("dropoff", bay, at(5, 1), feedstock="straw-wheat", **A_BUCKET, weighed_g=700)
    keep("water", bay, at(5, 2), volume_ml=5_000)
    mix = blend([Part(FEEDSTOCKS["grass-fresh"], 2.0, 10.0), Part(FEEDSTOCKS["straw-wheat"], 0.7, 10.0)], 5.0)
    told = told_of(bay, at(5, 3))
    assert told["sums"] == pytest.approx([mix.wet_kg, mix.dry_kg, mix.carbon_kg, mix.nitrogen_kg], abs=1e-4)
    assert told["room"] == 1_000 - 20 / 1.25


@pytest.mark.parametrize(
    ("figure", "number", "reckons", "sums"),
    [("density", 100, [100, 0.8, 0.029, 16], [1.0, 0.2, 0.2 * 0.029 * 16, 0.2 * 0.029]),
     ("moisture", 50, [200, 0.5, 0.029, 16], [2.0, 1.0, 0.029 * 16, 0.029]),
     ("nitrogen", 4, [200, 0.8, 0.04, 16], [2.0, 0.4, 0.4 * 0.04 * 16, 0.4 * 0.04]),
     ("c_to_n", 10, [200, 0.8, 0.029, 10], [2.0, 0.4, 0.4 * 0.029 * 10, 0.4 * 0.029])],
)  # fmt: skip
def test_own_values_are_what_a_phone_reckons_with(
    keep: Any, bay: Bay, at: At, figure: str, number: int, reckons: list[float], sums: list[float]
) -> None:
    """Of the material that is brought, and of what lies in the bay: 10 litres of grass."""
    decide("grass-fresh", figure, number=number)
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", **A_BUCKET)
    (grass,) = (row for row in gate.feedstocks() if row[0] == "grass-fresh")
    assert [grass[6], *grass[8:]] == pytest.approx(reckons)
    assert told_of(bay, at(5, 2))["sums"] == pytest.approx(sums, abs=1e-4)


def test_a_material_of_their_own_is_named_and_reckoned_with_until_it_is_withdrawn(
    keep: Any, bay: Bay, bucket: Container, at: At
) -> None:
    decide(REEDS, "relative", chosen="straw-wheat")
    decide(REEDS, "name", words="Cut reeds")
    keep("dropoff", bay, at(5, 1), feedstock=REEDS, container=str(bucket.uid), **A_BUCKET)
    assert remedies(at(5, 2))[0] == REEDS
    wet = told_of(bay, at(5, 2))["sums"][0]
    assert wet == pytest.approx((FEEDSTOCKS["straw-wheat"].density_kg_m3 or 0) / 100)
    store = Stocktake(half_containers=2, container_ml=10_000, feedstock=REEDS)
    assert "Cut reeds" in (line_of(store, known_materials()) or "")
    decide(REEDS, "offered", chosen="no")
    assert remedies(at(5, 2)) == [None, None]
    assert told_of(bay, at(5, 2))["sums"][0] == wet, "it lies there still"


def test_an_empty_bay_holds_nothing_and_has_all_its_room(bay: Bay, at: At) -> None:
    assert (told_of(bay, at(5, 3))["sums"], told_of(bay, at(5, 3))["room"]) == ([0, 0, 0, 0], 1_000)


def test_what_a_hand_felt_corrects_the_water_until_it_is_too_old(keep: Any, bay: Bay, at: At) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", **BARROWS)
    keep("reading", bay, at(5, 2), squeeze="drops")
    wet, dry, *_rest = told_of(bay, at(5, 3))["sums"]
    assert 1 - dry / wet == pytest.approx(MOISTURE_OF_SQUEEZE["drops"][1], abs=1e-4)
    wet, dry, *_rest = told_of(bay, at(5, 30))["sums"]
    assert 1 - dry / wet == pytest.approx(0.80, abs=1e-4)


@pytest.mark.parametrize("feedstock", ["soil", "compost", "leaves-mixed"])
def test_what_is_no_mix_of_greens_and_browns_is_not_judged(keep: Any, bay: Bay, at: At, feedstock: str) -> None:
    keep("dropoff", bay, at(5, 1), feedstock=feedstock, **BARROWS)
    assert told_of(bay, at(5, 2))["sums"] is None


def test_a_leaf_bin_and_a_closed_bay_are_not_judged(keep: Any, bay: Bay, site: Site, at: At) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", **BARROWS)
    keep("close", bay, at(5, 2))
    assert told_of(bay, at(5, 3))["sums"] is None
    assert told_of(site.bays.get(kind="leaf"), at(5, 3))["sums"] is None


def test_a_look_says_how_much_fits_in_until_more_is_tipped(keep: Any, bay: Bay, at: At) -> None:
    keep("dropoff", bay, at(4, 1), feedstock="grass-fresh", **BARROWS)
    assert told_of(bay, at(5, 3))["room"] is None, "after a month it has sunk, nobody knows how far"
    keep("reading", bay, at(5, 1), fill_per_cent=70)
    assert told_of(bay, at(5, 3))["room"] == pytest.approx(300)
    keep("dropoff", bay, at(5, 2), feedstock="grass-fresh", **A_BUCKET)
    assert told_of(bay, at(5, 3))["room"] is None


def test_after_a_look_what_was_tipped_tells_no_more_how_much_fits_in_even_in_a_young_heap(
    keep: Any, bay: Bay, at: At
) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", **BARROWS)
    keep("reading", bay, at(5, 2), fill_per_cent=70)
    keep("dropoff", bay, at(5, 3), feedstock="grass-fresh", **A_BUCKET)
    assert told_of(bay, at(5, 4))["room"] is None


def test_more_than_fits_in_leaves_no_room_and_so_does_a_bay_that_is_marked_full(keep: Any, bay: Bay, at: At) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=40, container_ml=80_000)
    assert told_of(bay, at(5, 2))["room"] == 0
    keep("reading", bay, at(5, 2), fill_per_cent=10)
    Bay.objects.update(is_full=True)
    assert told_of(bay, at(5, 3))["room"] == 0


def test_the_usual_brown_and_green_come_in_their_usual_container(
    keep: Any, bay: Bay, bucket: Container, at: At
) -> None:
    assert remedies(at(5, 2)) == [None, None]
    barrow = Container.objects.get(name="barrow")
    for feedstock, container in (("straw-wheat", barrow), ("straw-wheat", barrow), ("straw-wheat", bucket),
                                 ("cardboard", bucket), ("coffee", bucket), ("compost", barrow)):  # fmt: skip
        keep("dropoff", bay, at(5, 1), feedstock=feedstock, container=str(container.uid), half_containers=2,
             container_ml=container.filled_ml)  # fmt: skip
    (site,) = gate.ground(at(5, 2))["sites"]
    assert site["brown"] == {"feedstock": "straw-wheat", "container": str(barrow.uid), "container_ml": 80_000}
    assert site["green"] == {"feedstock": "coffee", "container": str(bucket.uid), "container_ml": 10_000}


@pytest.mark.parametrize(
    ("what", "named"),
    [("brown", [None, "coffee"]), ("green", ["straw-wheat", None]), ("everything", [None, None]),
     ("structural", ["straw-wheat", "coffee"])],
)  # fmt: skip
def test_what_is_paused_is_not_named(
    keep: Any, bay: Bay, bucket: Container, site: Site, at: At, what: str, named: list[str | None]
) -> None:
    for feedstock in ("straw-wheat", "coffee"):
        keep("dropoff", bay, at(5, 1), feedstock=feedstock, container=str(bucket.uid), **A_BUCKET)
    site.pauses.create(what=what, until=date(2026, 5, 4), reason="No room.")
    assert remedies(at(5, 4)) == named
    assert remedies(at(5, 5)) == ["straw-wheat", "coffee"]


@pytest.mark.parametrize(("word", "named"), [("with care", "straw-wheat"), ("treat first", None), ("never", None)])
def test_what_a_rule_refuses_is_not_named(
    keep: Any, bay: Bay, bucket: Container, site: Site, at: At, word: str, named: str | None
) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="straw-wheat", container=str(bucket.uid), **A_BUCKET)
    site.gate_rules.create(feedstock="straw-wheat", acceptance=word, reason="weedkiller", since=at(5, 1))
    assert remedies(at(5, 2))[0] == named


def test_of_two_browns_the_one_with_most_loads_counts_those_without_a_container_too() -> None:
    brought = [
        Brought("cardboard", 3, "box", 20_000, "a"),
        Brought("straw-wheat", 1, "bale", 90_000, "b"),
        Brought("straw-wheat", 3, None, 0, ""),
        Brought("hops", 9, "bin", 30_000, "c"),
        Brought("wood-chip", 9, None, 0, ""),
    ]
    assert most_used(brought, dries, PUBLISHED) == Usual("straw-wheat", "bale", 90_000, "b")
    assert most_used(brought, feeds, PUBLISHED) == Usual("hops", "bin", 30_000, "c")
    assert most_used([], dries, PUBLISHED) is None
