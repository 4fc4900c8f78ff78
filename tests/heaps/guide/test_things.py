"""What goes in: everything stands under one answer, with its reason and what to do instead."""

from heaps.guide import answers
from heaps.guide.things import ASKED, things
from heaps.science.feedstocks import FEEDSTOCKS, cited


def test_everything_stands_under_one_answer_in_order() -> None:
    found = answers()
    assert [one.word for one in found] == ["yes", "with care", "treat first", "never"]
    assert sorted(thing.key for one in found for thing in one.materials) == sorted(things())
    assert len(things()) == len(FEEDSTOCKS) + len(ASKED)


def test_whatever_may_not_simply_go_in_says_why_and_what_to_do_instead() -> None:
    for answer in answers():
        if answer.word in ("treat first", "never"):
            assert all(thing.reason and thing.instead for thing in answer.materials)


def test_what_no_heap_counts_says_why_and_what_to_do_and_where_that_comes_from() -> None:
    for thing in ASKED:
        assert thing.reason and thing.instead
        assert cited(thing.acceptance_source), thing.key
