"""Can I put ... in? What a newcomer types finds its answer, and the strict answer first."""

import json
from pathlib import Path
from typing import Any

import pytest

from heaps.guide.search import WORDS, asked_words, for_phone, found_keys, index, one_slip, places, search, stem
from heaps.guide.things import things

THINGS = things()

VECTORS: dict[str, Any] = json.loads((Path(__file__).parents[2] / "vectors/guide_search.json").read_text())
CASES: list[dict[str, str]] = VECTORS["cases"]


def test_there_are_enough_questions() -> None:
    assert sum("acceptance" in case for case in CASES) >= 80
    assert {case.get("acceptance") for case in CASES} == {"yes", "with care", "treat first", "never", None}


@pytest.mark.parametrize("case", CASES, ids=[case["ask"] for case in CASES])
def test_a_question_finds_its_answer_first(case: dict[str, str]) -> None:
    found = search(case["ask"])
    assert found.whole
    if "acceptance" in case:
        assert (found.things[0].key, found.things[0].acceptance) == (case["expect"], case["acceptance"])
    else:
        assert found.places[0].key == case["expect"]


@pytest.mark.parametrize("typed", VECTORS["nothing"])
def test_what_the_guide_does_not_know_finds_nothing(typed: str) -> None:
    assert found_keys(typed) == ([], False)


@pytest.mark.parametrize(("one", "other", "is_one"), VECTORS["slips"])
def test_one_slip_is_one_letter(one: str, other: str, is_one: bool) -> None:
    assert one_slip(one, other) is is_one
    assert one_slip(other, one) is is_one


def test_of_two_equal_answers_the_stricter_comes_first() -> None:
    found = search("potato")
    ranks = [["yes", "with care", "treat first", "never"].index(one.acceptance) for one in found.things[1:]]
    assert ranks == sorted(ranks, reverse=True)
    assert search("cones").things[0].acceptance == "with care"


def test_words_that_are_only_partly_known_are_said_to_be_so() -> None:
    found = search("grass plutonium")
    assert not found.whole and found.things[0].key == "grass-fresh"


def test_plurals_accents_and_capitals_do_not_matter() -> None:
    assert asked_words("Crème FRAÎCHE") == ["creme", "fraiche"]
    assert [stem(one) for one in ("leaves", "potatoes", "boxes", "branches", "nappies", "ashes", "grass", "gas")] == [
        "leaf", "potato", "box", "branch", "nappy", "ash", "grass", "gas",
    ]  # fmt: skip
    assert stem("bags") == stem("bag") == "bag"


def test_two_words_that_the_guide_writes_as_one_become_one() -> None:
    assert asked_words("knot weed") == ["knotweed"]
    assert asked_words("tea bags") == ["tea", "bag"]


def test_every_thing_has_further_words_and_every_list_of_words_a_thing() -> None:
    assert set(WORDS["said"]) == set(THINGS)


def test_everything_is_found_by_its_own_name() -> None:
    for thing in THINGS.values():
        assert thing.key in found_keys(str(thing.name))[0], thing.name
    for place in places().values():
        assert place.key in found_keys(f"{place.part.title} {place.part.found_by}")[0], place.key


def test_the_phone_gets_the_whole_index() -> None:
    entries = for_phone()["entries"]
    assert isinstance(entries, list)
    assert [one[0] for one in entries] == [one.key for one in index()]
    assert len(index()) == len(THINGS) + len(places())
