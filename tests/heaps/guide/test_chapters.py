"""The chapters: each line rests on something, each sign and caution ends in what to do, and all of it reads easily."""

import re
from statistics import mean

import pytest

from cooperative.words.reading import BANNED, parts_of, read_of
from heaps.guide import CHAPTERS
from heaps.guide.shape import MARKS, Chapter
from heaps.science.feedstocks import SOURCES

CHAPTER = pytest.mark.parametrize("chapter", CHAPTERS.values(), ids=CHAPTERS.keys())
#: Measured when the chapters were written: 1.3 on average, 2.0 for the cautions, the hardest.
MOST_GRADE_ON_AVERAGE, MOST_GRADE = 3.0, 4.0


@CHAPTER
def test_every_line_rests_on_a_source_or_says_that_it_does_not(chapter: Chapter) -> None:
    for part in chapter.parts:
        assert part.lines, part.key
        for line in part.all_lines:
            assert line.rests_on, str(line.says)
            assert all(one in SOURCES or one in MARKS for one in line.rests_on), line.rests_on


@CHAPTER
def test_every_chapter_names_a_source_in_full(chapter: Chapter) -> None:
    assert chapter.sources
    assert all(source.citation and source.checked for source in chapter.sources)


@pytest.mark.parametrize("key", ["signs", "cautions"])
def test_a_sign_and_a_caution_end_in_what_to_do(key: str) -> None:
    assert all(part.do and str(part.do.says) for part in CHAPTERS[key].parts)


def test_a_caution_is_short() -> None:
    for part in CHAPTERS["cautions"].parts:
        (danger,) = part.lines
        assert len(parts_of(str(danger.says))) <= 2, part.key


@CHAPTER
def test_nothing_is_promised_to_be_safe_and_no_word_of_the_trade_of_programs_is_used(chapter: Chapter) -> None:
    assert not re.search(r"\b(safe|safely|session)\b", words_of(chapter), re.I)
    assert not BANNED.search(words_of(chapter))


@CHAPTER
def test_parts_have_names_of_their_own(chapter: Chapter) -> None:
    keys = [part.key for part in chapter.parts]
    assert len(keys) == len(set(keys))


def test_the_cautions_leave_law_and_health_to_those_who_know() -> None:
    opening = str(CHAPTERS["cautions"].opening)
    assert "Check local rules" in opening and "licence" in opening


def test_the_dangers_that_heaps_are_known_for_all_have_a_caution() -> None:
    text = words_of(CHAPTERS["cautions"]).casefold()
    for danger in (
        "spores", "legionella", "leptospirosis", "tetanus", "wash your hands", "lift", "sharp", "steam", "fire",
        "carbon monoxide", "animal", "plants spread", "salmonella", "shredder", "children",
    ):  # fmt: skip
        assert danger in text, danger


def test_the_chapters_read_easily() -> None:
    grades = {key: read_of(words_of(chapter)).grade for key, chapter in CHAPTERS.items()}
    assert mean(grades.values()) <= MOST_GRADE_ON_AVERAGE, grades
    assert max(grades.values()) <= MOST_GRADE, grades


def words_of(chapter: Chapter) -> str:
    """Every sentence of a chapter; titles are none."""
    lines = [line.says for part in chapter.parts for line in part.all_lines]
    return " ".join(str(one) for one in (chapter.opening, *lines))
