"""What the board and a heap's story say, against ledgers small enough to work out by hand."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from heaps.board import BayNow, sites_now, story_of
from heaps.board.board import what_is_used
from heaps.board.happened import line_of
from heaps.board.words import LINES, counted, need_line
from heaps.ledger.kinds import KINDS, TipOut
from heaps.models import Bay, Container, Site
from heaps.science.advice import Code, Need
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.materials import PUBLISHED
from heaps.sync import Sending, accept
from heaps.usual import Usual

NOW = datetime(2026, 6, 1, 12, 30, tzinfo=UTC)
A_BUCKET = {"half_containers": 2, "container_ml": 10_000}


def now_of(bay: Bay, moment: datetime = NOW) -> BayNow:
    """The board's view of one bay."""
    (row,) = [row for site in sites_now(moment) for row in site.bays if row.bay.uid == str(bay.uid)]
    return row


def test_bays_stand_in_their_order_on_the_ground(site: Site) -> None:
    (found,) = sites_now(NOW)
    assert [row.bay.name for row in found.bays] == ["Bay 1", "Bay 2", "Leaf bin"]
    assert [row.stage for row in found.bays] == ["empty"] * 3


def test_what_is_in_it_is_told_heaviest_first(bay, keep, at) -> None:
    for key, halves in (("coffee", 2), ("cardboard", 2), ("tea-leaves", 2), ("wood-ash", 1), ("coffee", 2)):
        keep("dropoff", bay, at(5, 1), feedstock=key, half_containers=halves, container_ml=10_000)
    row = now_of(bay)
    densities = {key: FEEDSTOCKS[key].density_kg_m3 for key in ("coffee", "tea-leaves", "wood-ash")}
    assert row.materials == (
        ("Coffee grounds", 20 * densities["coffee"]),
        ("Tea leaves", 10 * densities["tea-leaves"]),
        ("Wood ash", 5 * densities["wood-ash"]),
    )
    assert (row.other_materials, row.tipped_ml) == (1, 45_000)


def test_the_sums_are_on_dry_mass_and_count_the_water(bay, keep, at) -> None:
    """10 kg of grass at 80 % moisture and 2.9 % N, C:N 16; 20 litres of water."""
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", **A_BUCKET, weighed_g=10_000)
    keep("water", bay, at(5, 2), volume_ml=20_000)
    row = now_of(bay)
    assert row.c_to_n == pytest.approx(16)
    assert row.moisture_fraction == pytest.approx((8 + 20) / 30)


def test_a_weighed_load_beats_the_estimate(bay, keep, at) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="coffee", **A_BUCKET, weighed_g=3_210)
    assert now_of(bay).wet_g == 3_210


def test_a_fill_that_was_looked_at_beats_the_estimate(bay, keep, at) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="straw-wheat", half_containers=20, container_ml=100_000)
    young = now_of(bay, at(5, 3)).fill
    assert (young.per_cent, young.day) == (80, None)  # 1,000 litres tipped are 800 in the heap
    keep("reading", bay, at(5, 2), fill_per_cent=65)
    assert (now_of(bay).fill.per_cent, now_of(bay).fill.day.isoformat()) == (65, "2026-05-02")


def test_an_old_heap_nobody_looked_at_has_no_fill(bay, keep, at) -> None:
    keep("dropoff", bay, at(4, 1), feedstock="straw-wheat", half_containers=20, container_ml=100_000)
    assert now_of(bay).fill is None


def test_a_turned_heap_has_sunk_so_its_fill_is_not_guessed(bay, second_bay, keep, at) -> None:
    keep("dropoff", second_bay, at(5, 1), feedstock="straw-wheat", half_containers=20, container_ml=100_000)
    keep("turn", bay, at(5, 3), sources=[{"bay": str(second_bay.uid), "per_cent": 100}])
    assert now_of(bay, at(5, 4)).tipped_ml == 1_000_000
    assert now_of(bay, at(5, 4)).fill is None


def test_its_make_up_is_by_volume_as_tipped(bay, keep, at) -> None:
    for key, litres in (("grass-fresh", 500), ("straw-wheat", 300), ("wood-chip", 200)):
        keep("dropoff", bay, at(5, 1), feedstock=key, half_containers=2, container_ml=litres * 1_000)
    assert now_of(bay).shares == (("green", 0.5), ("brown", 0.3), ("structural", 0.2))


def test_browns_are_counted_in_the_sites_usual_container(bay, keep, at, bucket) -> None:
    barrow = Container.objects.get(name="barrow")
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=400, container_ml=10_000)
    assert "of cardboard" in now_of(bay).need
    for _ in range(2):
        keep("dropoff", bay, at(5, 2), feedstock="straw-wheat", half_containers=1, container_ml=80_000,
             container=str(barrow.uid))  # fmt: skip
    keep("dropoff", bay, at(5, 2), feedstock="straw-wheat", **A_BUCKET, container=str(bucket.uid))
    used = what_is_used({bay.site_id}, PUBLISHED)[bay.site_id]
    assert used.brown == Usual("straw-wheat", "barrow", 80_000, str(barrow.uid))
    assert used.sizes == ((10_000, "bucket"), (80_000, "barrow"))
    assert "barrow" in now_of(bay).need and "wheat straw" in now_of(bay).need


def test_the_number_of_containers_brings_the_heap_to_thirty_to_one(bay, keep, at, bucket) -> None:
    """Putting in what the line asks for must mend it: the line then asks for no more browns."""
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=20, container_ml=10_000)
    asked = now_of(bay).need
    number = int(asked.split("roughly ")[1].split()[0])
    keep("dropoff", bay, at(5, 2), feedstock="cardboard", half_containers=2 * number, container_ml=10_000)
    assert now_of(bay).c_to_n >= 30
    assert "rowns" not in now_of(bay).need
    assert "Browns" in asked


def test_finished_compost_is_no_brown(bay, keep, at, bucket) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="compost", **A_BUCKET, container=str(bucket.uid))
    brown = what_is_used({bay.site_id}, PUBLISHED)[bay.site_id].brown
    assert brown is not None and brown.feedstock == "cardboard"


@pytest.mark.parametrize("days, hot", [(13, True), (15, False)])
def test_an_old_reading_says_nothing_about_today(bay, keep, days: int, hot: bool) -> None:
    keep("dropoff", bay, NOW - timedelta(days=30), feedstock="cardboard", **A_BUCKET)
    keep("reading", bay, NOW - timedelta(days=days), temp_tenths_c=680)
    assert ("Over 65" in now_of(bay).need) is hot
    assert now_of(bay).temperature.tenths_c == 680


def test_every_need_has_a_line() -> None:
    assert set(LINES) == set(Code)


@pytest.mark.parametrize(
    "number, container, said",
    [
        (1, "Barrow", "1 barrow"),
        (3, "Barrow", "3 barrows"),
        (2, "Box", "2 boxes"),
        (2, "20-litre tub (blue)", "2 × 20-litre tub (blue)"),
        (2, "Sacks", "2 × sacks"),
    ],
)
def test_containers_are_counted_in_plain_words(number: int, container: str, said: str) -> None:
    assert counted(number, container) == said


def test_a_start_says_that_it_is_one() -> None:
    line = need_line(Need(Code.BROWNS, 20, more=True), PUBLISHED["cardboard"], "Barrow")
    assert line == "Browns: roughly 20 barrows of cardboard, mixed in. That is a start: more next time."


def test_a_story_follows_the_matter_through_its_turns(site, bay, second_bay, keep, at) -> None:
    leaf = site.bays.get(name="Leaf bin")
    keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    keep("dropoff", second_bay, at(2, 2), feedstock="cardboard", **A_BUCKET)
    keep("dropoff", leaf, at(2, 3), feedstock="leaves-mixed", **A_BUCKET)  # gone before this story comes here
    keep("tip_out", leaf, at(2, 20))
    keep("turn", leaf, at(3, 1), sources=[{"bay": str(one.uid), "per_cent": 100} for one in (bay, second_bay)])
    keep("dropoff", bay, at(3, 2), feedstock="tea-leaves", **A_BUCKET)  # a new batch: none of this story's
    keep("reading", leaf, at(3, 3), temp_tenths_c=400)
    keep("turn", leaf, at(3, 9), sources=[{"bay": str(leaf.uid), "per_cent": 100}])
    story = story_of(leaf, NOW)
    assert sorted(one.bay for one in story.came_from) == ["Bay 1", "Bay 2"]
    assert [(str(on), load.material, load.loads) for on, loads in story.days for load in loads] == [
        ("2026-02-02", "Cardboard", 1),
        ("2026-02-01", "Coffee grounds", 1),
    ]
    assert [(turn.into, turn.within) for turn in story.turns] == [("Leaf bin", False), ("Leaf bin", True)]
    assert [seen.reading.temp_tenths_c for seen in story.readings] == [400]


#: Every kind besides loads, readings and turns, as a bay's own page tells it.
HAPPENS: dict[str, tuple[dict[str, Any], str]] = {
    "water": ({"volume_ml": 12_500}, "12.5 litres of water"),
    "close": ({}, "Closed: nothing more goes in"),
    "reopen": ({}, "Opened for feeding again"),
    "verdict": ({"test": "cress", "ready": "not yet"}, "Not ready yet, by cress"),
    "harvest": (
        {"half_bags": 2, "bag_ml": 40_000, "per_cent": 25, "sieved": "coarse"},
        "Harvested 1 bag, coarse: 25 % of the heap",
    ),
    "collection": ({"half_bags": 3, "bag_ml": 40_000}, "1½ bags fetched"),
    "hours": ({"minutes": 90, "people": 1}, "1.5 hours, 1 person"),
    "note": ({}, "A note"),
    "refused_load": (
        {"feedstock": "coffee", "why": "glass or plastic in it"},
        "Turned away: Coffee grounds (glass or plastic in it)",
    ),
    "cover": ({"way": "off"}, "Cover taken off"),
    "stocktake": ({"half_containers": 5, "container_ml": 40_000}, "In store: 2½ × 40 litres of compost"),
    "spread": ({"tenths_m2": 10, "depth_mm": 45}, "Mulched 1 square metre, 4.5 cm deep"),
    "soak": (
        {"weed": "dock", "way": "in", "half_containers": 2, "container_ml": 10_000},
        "1 × 10 litres of dock into the tub",
    ),
    "weighing": (
        {"feedstock": "coffee", "container_ml": 10_000, "full_g": 6_500, "empty_g": 500},
        "Weighed: 10 litres of Coffee grounds, 6 kg",
    ),
    "session": ({"sort": "work day", "people": 14}, "work day: 14 people"),
    "incident": ({"what": "rats"}, "Went wrong: rats"),
    "sign": ({"sign": "rats", "says": "done", "did": "mesh below"}, "rats: Put mesh below"),
}


def test_every_kind_of_entry_stands_on_the_heap_s_page(bay, keep, at, client_of, member) -> None:
    assert set(HAPPENS) == KINDS.keys() - {"opening", "dropoff", "reading", "turn", "tip_out", "correction"}
    keep("opening", bay, at(2, 1), volume_ml=300_000, age_days=20, make_up=[["coffee", 100]])
    for number, (kind, (details, _line)) in enumerate(HAPPENS.items(), 2):
        keep(kind, bay, at(2, number), **details)
    told = [one.line for one in story_of(bay, NOW).happened]
    assert told == [line for _details, line in reversed(HAPPENS.values())] + [
        "Already here on the first day: 300 litres, guessed"
    ]
    page = client_of(member).get(f"/heaps/{bay.uid}/").content.decode()
    assert "What else happened" in page and "Bay 1: Went wrong: rats." in page


def test_what_was_emptied_ends_the_story(bay, keep, at) -> None:
    keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    keep("water", bay, at(2, 1), volume_ml=10_000)
    keep("tip_out", bay, at(2, 2))
    keep("dropoff", bay, at(2, 3), feedstock="coffee", **A_BUCKET)
    assert story_of(bay, NOW).happened == ()
    assert line_of(TipOut(), PUBLISHED) == "Emptied without a harvest"


def test_a_story_leaves_out_what_was_withdrawn(bay, keep, at) -> None:
    keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    wrong = keep("dropoff", bay, at(2, 2), feedstock="wood-ash", **A_BUCKET)
    keep("correction", None, at(2, 3), corrects=wrong.uid, says="withdraw")
    assert [load.material for _, loads in story_of(bay, NOW).days for load in loads] == ["Coffee grounds"]


def test_what_each_material_adds_makes_the_sum(bay, keep, at) -> None:
    keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    keep("dropoff", bay, at(2, 2), feedstock="cardboard", **A_BUCKET, weighed_g=1_500)
    keep("water", bay, at(2, 3), volume_ml=5_000)
    story = story_of(bay, NOW)
    assert sum(row.adds.carbon_kg for row in story.why) == pytest.approx(story.total.carbon_kg)
    assert sum(row.wet_g for row in story.why) + story.water_ml == pytest.approx(1_000 * story.total.wet_kg)
    assert {row.basis for row in story.why} == {"weighed", "estimated"}
    assert story.sources


def test_a_heap_split_and_met_again_is_told_once(bay, second_bay, keep, at) -> None:
    keep("dropoff", bay, at(2, 1), feedstock="coffee", **A_BUCKET)
    for week in range(6):
        source, into = (bay, second_bay) if week % 2 == 0 else (second_bay, bay)
        keep("turn", into, at(3, 1 + week), sources=[{"bay": str(source.uid), "per_cent": 50}])
    story = story_of(bay, NOW)

    def told(parts) -> int:
        return sum(1 + told(one.parents) for one in parts)

    assert told(story.came_from) <= 2 * len(story.state.batch.ancestors)


def test_a_heap_never_emptied_keeps_a_page_that_opens(client_of, member, coordinator, site, bay, second_bay) -> None:
    """Half of each bay turned into the other, a hundred and twenty times: the nearest generations are told."""
    start = datetime(2024, 1, 1, 12, tzinfo=UTC)
    entries = [
        {
            "wire": 1,
            "uid": str(uuid.uuid4()),
            "kind": "turn" if number else "dropoff",
            "site": str(site.uid),
            "bay": str((bay, second_bay)[number % 2].uid),
            "occurred_at": (start + timedelta(days=7 * number)).isoformat(),
            "by_hand": True,
            "details": {"sources": [{"bay": str((bay, second_bay)[1 - number % 2].uid), "per_cent": 50}]}
            if number
            else {"feedstock": "coffee", "half_containers": 40, "container_ml": 10_000},
        }
        for number in range(121)
    ]
    now = start + timedelta(days=900)
    accept(entries, Sending(coordinator, None, sent_at=now, received_at=now))
    page = client_of(member).get(f"/heaps/{bay.uid}/")
    assert page.status_code == 200
    assert "and heaps before that" in page.content.decode()
