"""Sources of nitrogen: enough, and too much."""

import pytest

from heaps.guide.cautions import CAUTIONS
from heaps.science.blend import Mix
from heaps.science.feedstocks import FEEDSTOCKS, SOURCES
from heaps.science.fewest import added
from heaps.science.nitrogen import NITROGEN_SOURCES, NitrogenSource, enough_of
from tests.piles import pile

BY_KEY = {one.feedstock: one for one in NITROGEN_SOURCES}
STRAW = added(Mix(), [(pile("straw-wheat", 80, 1), 8)])


@pytest.mark.parametrize("source", NITROGEN_SOURCES, ids=lambda one: one.feedstock)
def test_enough_brings_the_mix_to_its_aim(source: NitrogenSource) -> None:
    found = enough_of(source, STRAW)
    assert found is not None and found.litres > 0
    stuff = FEEDSTOCKS[source.feedstock]
    mixed = added(STRAW, [(pile(source.feedstock, found.litres, 1), 1)])
    assert mixed.c_to_n == pytest.approx(40, rel=0.01), stuff.name


def test_each_names_its_source_and_cautions_that_the_guide_has() -> None:
    cautions = {part.key for part in CAUTIONS.parts}
    for one in NITROGEN_SOURCES:
        assert one.source in SOURCES or one.source == "practice"
        assert one.checked and set(one.cautions) <= cautions
        assert FEEDSTOCKS[one.feedstock].acceptance in ("yes", "with care")
    assert all(one.cautions for one in NITROGEN_SOURCES if "manure" in one.feedstock)


def test_coffee_alone_for_a_straw_heap_is_too_much_and_a_little_is_not() -> None:
    coffee = BY_KEY["coffee"]
    found = enough_of(coffee, added(STRAW, [(pile("grass-fresh", 80, 1), 3)]))
    assert found and not found.too_much
    much = enough_of(coffee, added(Mix(), [(pile("cardboard", 80, 1), 8)]))
    assert much and much.too_much


def test_urine_is_bounded_by_the_size_of_the_heap() -> None:
    urine = BY_KEY["urine"]
    found = enough_of(urine, STRAW)
    assert found and found.too_much == (found.litres > 40 * STRAW.heap_l / 1_000)


def test_a_rich_heap_needs_none_and_a_brown_source_never_helps() -> None:
    grass = added(Mix(), [(pile("grass-fresh", 80, 1), 4)])
    found = enough_of(BY_KEY["coffee"], grass)
    assert found and found.litres == 0 and not found.too_much
    assert enough_of(NitrogenSource("cardboard", None, None, "practice", "a brown"), STRAW) is None


def test_keratin_is_marked_slow() -> None:
    assert {one.feedstock for one in NITROGEN_SOURCES if one.slow} == {"hair", "wool", "feathers"}
