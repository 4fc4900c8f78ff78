"""The guide: every material under its answer, with its reason, its figures and where they come from."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from heaps.guide import CAUTIONS, answers
from heaps.science.feedstocks import FEEDSTOCKS, SOURCES
from members.models import Member


def test_every_material_stands_under_one_answer_in_order() -> None:
    found = answers()
    assert [one.word for one in found] == ["yes", "with care", "treat first", "never"]
    assert sorted(stuff.key for one in found for stuff in one.materials) == sorted(FEEDSTOCKS)


def test_whatever_may_not_simply_go_in_says_what_to_do_instead() -> None:
    for answer in answers():
        if answer.word in ("treat first", "never"):
            assert all(stuff.reason and stuff.instead for stuff in answer.materials)


@pytest.mark.parametrize("words, key", [("cooked", "cooked-food"), ("GRASS clippings", "grass-fresh")])
def test_a_word_finds_its_material(words: str, key: str) -> None:
    assert key in {stuff.key for one in answers(words) for stuff in one.materials}
    assert sum(len(one.materials) for one in answers(words)) < len(FEEDSTOCKS)


def test_words_that_nothing_holds_find_nothing() -> None:
    assert answers("grass plutonium") == []


def test_each_caution_names_where_it_comes_from() -> None:
    for caution in CAUTIONS:
        assert caution.source in SOURCES or caution.evidence.startswith(("from memory", "reckoned"))


def test_the_page_shows_figures_with_their_source_and_grade(client_of: Callable[[Member | None], Client]) -> None:
    page = client_of(None).get(reverse("heaps:guide")).content.decode()
    grass = FEEDSTOCKS["grass-fresh"]
    assert "80 %; from 71 % to 85 %" in page
    assert escape(grass.moisture_fraction.source) in page and "partly read in the source" in page
    assert "check local rules" in page


def test_a_search_cannot_write_on_the_page(client_of: Callable[[Member | None], Client]) -> None:
    page = client_of(None).get(reverse("heaps:guide"), {"q": '"><script>alert(1)</script>'}).content.decode()
    assert "<script>alert" not in page and "Ask a coordinator" in page
