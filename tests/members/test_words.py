"""The list of words, and how what somebody types is read."""

import difflib
import itertools

import pytest

from members.words import WORDS, meant, read, strangers

#: Words that sound like others; none may be on the list.
SOUND_ALIKE = """
    ate aunt ant bare bear bean been beat beet bee berry blue blew bread cell dear deer dew die dye
    eight eye fair fir flour flower fur hair hare hay hear heel hole horse knight knot leek mail
    maize male meat nose one pair pear peel pea plum rain rode root rose sail sea seed sew sow son
    steal steel sun tail tale thyme toe wail weed week whale wood write
"""


def test_there_are_256_short_plain_words() -> None:
    assert len(set(WORDS)) == len(WORDS) == 256
    assert all(3 <= len(word) <= 6 and word.isascii() and word.isalpha() and word.islower() for word in WORDS)


def test_no_two_begin_alike_or_look_alike() -> None:
    assert len({word[:3] for word in WORDS}) == 256
    pairs = itertools.combinations(WORDS, 2)
    assert [pair for pair in pairs if difflib.SequenceMatcher(None, *pair).ratio() > 0.84] == []
    assert set(SOUND_ALIKE.split()) & set(WORDS) == set()


@pytest.mark.parametrize(
    "typed",
    [
        "apple tiger lamp river",
        "Apple Tiger LAMP river ",
        "apple-tiger-lamp-river",
        "apple, tiger; lamp. river",
        "apple\ttiger\nlamp\u00a0river",
        "apple – tiger — lamp\u2011river",
        "ａｐｐｌｅ tiger lamp river",
    ],
)
def test_case_and_what_stands_between_make_no_difference(typed: str) -> None:
    assert read(typed) == ["apple", "tiger", "lamp", "river"]


@pytest.mark.parametrize(
    ("typed", "known"),
    [("aple", "apple"), ("tigre", "tiger"), ("lampp", "lamp"), ("rivver", "river"), ("woolf", "wolf"), ("xqzv", "")],
)
def test_a_word_with_a_slip_is_guessed(typed: str, known: str) -> None:
    assert strangers([typed, "apple"]) == [typed]
    assert meant(typed) == known
