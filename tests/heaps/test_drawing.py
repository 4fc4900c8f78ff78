"""What is drawn of a heap is what lies in it: layers in their order and proportion, the fill mark, the warmth."""

import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from heaps import ledger
from heaps.board import story_of
from heaps.board.bay import BayFacts
from heaps.board.drawing import MIXED, section_of
from heaps.board.warmth import MOST_POINTS, chart_of
from heaps.ledger.kinds import Entry, Reading, Share, Turn
from heaps.models import Bay
from heaps.science.materials import PUBLISHED
from members.models import Member

BAY = BayFacts("bay", "Bay 1", "open bay", False, 1_000_000, 120, 100, "Europe/London")
LAYERS = (ledger.Layer(None, 300_000), ledger.Layer("grass-fresh", 100_000), ledger.Layer("cardboard", 200_000))


def test_layers_stand_on_each_other_in_proportion() -> None:
    section = section_of(BAY, LAYERS, 60, PUBLISHED)
    assert [band.group for band in section.bands] == [MIXED, "green", "brown"]
    assert [band.material for band in section.downwards] == ["Cardboard", "Grass clippings", None]
    heights = [band.height for band in section.bands]
    assert [height / heights[1] for height in heights] == pytest.approx([3, 1, 2])
    for lower, upper in zip(section.bands, section.bands[1:], strict=False):
        assert upper.y + upper.height == pytest.approx(lower.y)
    assert section.bands[0].y + section.bands[0].height == pytest.approx(section.height)


@pytest.mark.parametrize("per_cent", [0, 1, 60, 100, 140, 200])
def test_the_top_stands_at_the_fill_mark(per_cent: int) -> None:
    section = section_of(BAY, LAYERS, per_cent, PUBLISHED)
    wall = section.height - section.brim
    assert (section.height - section.top) / wall == pytest.approx(per_cent / 100)
    assert section.top >= -0.001, "a heap above the brim is still inside the drawing"
    assert section.width / wall == pytest.approx(120 / 100)


def test_without_a_look_the_height_is_reckoned_and_said_to_be_unsure() -> None:
    section = section_of(BAY, LAYERS, None, PUBLISHED)
    assert not section.sure
    assert 0 < section.per_cent < 100
    assert section_of(BAY, (ledger.Layer(None, 9_000_000),), None, PUBLISHED).per_cent == 100


def test_an_empty_bay_is_drawn_empty() -> None:
    section = section_of(BAY, (), None, PUBLISHED)
    assert (section.bands, section.per_cent, section.top) == ((), 0, section.height)


def test_the_latest_reading_of_each_place_since_the_turn_stands_in_it(keep, bay: Bay, at) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=40, container_ml=20_000)
    keep("reading", bay, at(5, 3), temp_tenths_c=610, place="edge")
    keep("turn", bay, at(5, 4), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    keep("reading", bay, at(5, 5), temp_tenths_c=550, place="core")
    keep("reading", bay, at(5, 6), temp_tenths_c=520, place="core")
    keep("reading", bay, at(5, 6, 11), temp_tenths_c=300, place="base")
    story = story_of(bay, at(5, 7))
    assert {(spot.place, spot.tenths_c) for spot in story.section.spots} == {("core", 520), ("base", 300)}
    core, base = sorted(story.section.spots, key=lambda spot: spot.y)
    assert story.section.top < core.y < base.y < story.section.height


def test_what_the_last_turn_brought_together_is_drawn_as_it_lay(keep, bay: Bay, second_bay: Bay, at) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=4, container_ml=20_000)
    keep("dropoff", second_bay, at(5, 2), feedstock="cardboard", half_containers=2, container_ml=20_000)
    keep("turn", second_bay, at(5, 4), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    before = story_of(second_bay, at(5, 5)).before
    assert [(facts.name, [band.group for band in section.bands]) for facts, section in before] == [
        ("Bay 1", ["green"]),
        ("Bay 2", ["brown"]),
    ]


def reading(days: float, tenths_c: int, at: Callable[..., object]) -> Entry:
    moment = at(3, 1) + timedelta(days=days)  # type: ignore[operator]  # days are a number
    return Entry(f"r{days}", "bay", moment, Reading(temp_tenths_c=tenths_c))


def test_the_chart_shows_each_days_warmest_and_the_turns(at) -> None:
    turn = Entry("t", "bay", at(3, 3), Turn((Share("bay", 100),)))
    told = [reading(0, 200, at), reading(0.1, 300, at), reading(4, 600, at), turn]
    chart = chart_of(sorted(told, key=lambda one: one.at), BAY, at(3, 9).date())
    assert chart
    assert [(point.x, point.tenths_c) for point in chart.points] == [(0, 300), (chart.width / 2, 600)]
    assert chart.points[0].y > chart.points[1].y
    assert chart.turns == (chart.width / 4,)
    assert chart.hottest.tenths_c == chart.last.tenths_c == 600


def test_one_reading_makes_no_chart_and_many_stay_small(at) -> None:
    assert chart_of([reading(0, 200, at)], BAY, at(3, 9).date()) is None
    many = chart_of([reading(day, 200 + day, at) for day in range(500)], BAY, at(3, 9).date())
    assert many and len(many.points) <= MOST_POINTS
    assert many.hottest.tenths_c == 699


def test_a_heaps_page_draws_it_in_valid_svg_with_words_and_a_table(
    keep, bay: Bay, at, client_of: Callable[[Member], Client], member: Member
) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="grass-fresh", half_containers=40, container_ml=20_000)
    keep("dropoff", bay, at(5, 2), feedstock="cardboard", half_containers=1, container_ml=20_000)
    keep("reading", bay, at(5, 3), fill_per_cent=120, temp_tenths_c=500)
    keep("reading", bay, at(5, 4), temp_tenths_c=550)
    page = client_of(member).get(f"/heaps/{bay.uid}/").content.decode()
    drawings = re.findall(r"<svg.*?</svg>", page, re.S)
    for drawing in drawings:
        ElementTree.fromstring(drawing)
    section = next(drawing for drawing in drawings if 'class="section"' in drawing)
    assert "<title" in section and "On top: Cardboard, 10 litres as tipped." in section
    assert "It fills 120 % of the bay." in page
    assert page.index("Cardboard</th>") < page.index("Grass clippings</th>"), "the table goes from the top down"
    assert len(section) < 15_000
