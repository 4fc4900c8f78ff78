"""The pages of the guide: open to everybody, figures with their sources, and a search that needs no script."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from heaps.guide import CHAPTERS
from heaps.science.feedstocks import FEEDSTOCKS
from members.models import Member

ClientOf = Callable[[Member | None], Client]
UNKNOWN = '<p data-say="none">'


def asked(client_of: ClientOf, words: str) -> str:
    page = client_of(None).get(reverse("heaps:guide"), {"q": words}).content.decode()
    return page.split('id="found"')[1].split("</section>")[0]


def test_the_page_shows_figures_with_their_source_and_grade(client_of: ClientOf) -> None:
    page = client_of(None).get(reverse("heaps:guide")).content.decode()
    moisture = FEEDSTOCKS["grass-fresh"].moisture_fraction
    assert "80 %; from 71 % to 85 %" in page
    assert moisture and escape(moisture.source) in page and "partly read in the source" in page
    assert "check local rules" in page


def test_a_question_is_answered_with_word_reason_and_what_to_do(client_of: ClientOf) -> None:
    found = asked(client_of, "Can I put dog poo in?")
    stuff = FEEDSTOCKS["dog-cat"]
    assert "✕ Never" in found and escape(stuff.reason) in found and escape(stuff.instead) in found
    assert UNKNOWN not in found


def test_a_sign_is_answered_with_the_way_to_its_part(client_of: ClientOf) -> None:
    assert f"{reverse('heaps:guide_chapter', args=['signs'])}#ammonia" in asked(client_of, "smells of ammonia")


def test_what_is_not_known_is_said_to_be_so_and_the_words_stay(client_of: ClientOf) -> None:
    page = client_of(None).get(reverse("heaps:guide"), {"q": "plutonium"}).content.decode()
    assert UNKNOWN in page and "leave it out" in page and 'value="plutonium"' in page


def test_a_search_cannot_write_on_the_page(client_of: ClientOf) -> None:
    page = client_of(None).get(reverse("heaps:guide"), {"q": '"><script>alert(1)</script>'}).content.decode()
    assert "<script>alert" not in page and "&lt;script&gt;alert" in page


@pytest.mark.parametrize("key", CHAPTERS)
def test_a_chapter_opens_for_everybody_with_its_sources_in_full(client_of: ClientOf, key: str) -> None:
    page = client_of(None).get(reverse("heaps:guide_chapter", args=[key])).content.decode()
    chapter = CHAPTERS[key]
    assert escape(str(chapter.title)) in page
    for part in chapter.parts:
        assert f'id="{part.key}"' in page
        assert all(escape(str(line.says)) in page for line in part.all_lines)
    assert all(escape(source.citation) in page for source in chapter.sources)


def test_a_chapter_that_there_is_not_is_not_found(client_of: ClientOf) -> None:
    assert client_of(None).get(reverse("heaps:guide_chapter", args=["gold"])).status_code == 404
