"""What a coordinator is asked: one load said by two people, unlikely dates, corrections that came first."""

import uuid
from datetime import timedelta

import pytest

from heaps.models import Bay, Entry, Question
from members.models import Member
from tests.sendings import NOON, correction, load, send, states, wet_g

pytestmark = [pytest.mark.ledger, pytest.mark.django_db]


def test_a_correction_by_somebody_else_that_came_first_is_asked_about(
    bay: Bay, member: Member, other_member: Member, coordinator: Member
) -> None:
    raw, own = load(bay), load(bay, minutes=50)
    send([correction(bay.site, raw["uid"])], other_member)
    send([correction(bay.site, own["uid"])], member)
    send([raw, own], member)
    assert [question.entry.uid for question in Question.objects.filter(settled_at=None)] == [uuid.UUID(raw["uid"])]
    again = correction(bay.site, raw["uid"], "instead", kind="dropoff", bay=str(bay.uid), details=raw["details"])
    again["occurred_at"] = (NOON + timedelta(hours=2)).isoformat()
    send([again], coordinator, timedelta(hours=3))
    assert not Question.objects.filter(settled_at=None).exists()
    assert wet_g() == 16_000


@pytest.mark.parametrize(
    ("minutes", "by_another", "same", "asked"),
    [(20, True, True, 1), (31, True, True, 0), (20, False, True, 0), (20, True, False, 0)],
)
def test_a_load_recorded_by_two_people_is_kept_twice_and_asked_about(
    bay: Bay, member: Member, other_member: Member, minutes: int, by_another: bool, same: bool, asked: int
) -> None:
    send([load(bay)], member)
    send([load(bay, minutes=minutes, count=4 if same else 6)], other_member if by_another else member)
    assert Entry.objects.count() == 2
    assert Question.objects.filter(why="twice").count() == asked


def test_a_coordinators_answer_settles_the_question(
    bay: Bay, member: Member, other_member: Member, coordinator: Member
) -> None:
    first, second = load(bay), load(bay, minutes=10)
    send([first], member)
    send([second], other_member)
    send([correction(bay.site, second["uid"])], coordinator)
    assert not Question.objects.filter(settled_at=None).exists()
    assert wet_g() == 16_000
    send([load(bay, minutes=15)], other_member)  # the withdrawn one is not asked about again
    assert {question.entry_id for question in Question.objects.filter(settled_at=None)} | {
        question.other_id for question in Question.objects.filter(settled_at=None)
    } == {Entry.objects.get(uid=first["uid"]).pk, Entry.objects.latest("pk").pk}


def test_each_load_is_asked_about_once(bay: Bay, member: Member, other_member: Member) -> None:
    """One load can be only one of those that somebody else recorded."""
    send([load(bay, minutes=minute) for minute in range(6)], member)
    send([load(bay, minutes=10 + minute) for minute in range(6)], other_member)
    assert Question.objects.count() == 6


def test_an_unlikely_date_is_taken_and_asked_about(bay: Bay, member: Member) -> None:
    receipts = send([load(bay, occurred_at="2031-01-01T00:00:00Z")], member)
    assert states(receipts) == ["accepted"]
    assert Question.objects.get().says == "It is dated in the future."
