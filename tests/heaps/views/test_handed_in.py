"""What phones hand in that nobody is signed in on: taken in, left out, and settled by whoever comes first."""

import uuid

import pytest
from django.urls import reverse

from heaps import history, parking
from heaps.models import Entry
from heaps.names import forget
from heaps.tray import tray
from members.models import Member
from tests.heaps.views.test_tray import answers, handed_in
from tests.sendings import NOON, correction, load, send, wet_g

__all__ = ["answers"]  # fixtures, taken over as they are
pytestmark = pytest.mark.ledger  # its questions to the database run on PostgreSQL too


def test_what_was_handed_in_is_taken_in_by_one_button(answers, client_of, coordinator, bay, member, site) -> None:
    raw = load(bay)
    handed_in(member, raw)
    page = client_of(coordinator).get(reverse("heaps:tray")).content.decode()
    assert "Take it in" in page and parking.HANDED_IN in page
    assert "Settled" in answers("place", raw["uid"]).content.decode()
    entry = Entry.objects.get()
    assert (entry.person, entry.bay, entry.device) == (member, bay, uuid.UUID(int=7))
    assert history.drift(site) == []


def test_the_coordinator_s_word_lets_an_opening_in_and_it_stays_its_sender_s(answers, bay, member) -> None:
    lay = {"volume_ml": 500_000, "age_days": 60, "make_up": [["grass-fresh", 100]]}
    raw = load(bay, kind="opening", details=lay)
    handed_in(member, raw)
    answers("place", raw["uid"])
    assert (Entry.objects.get().kind, Entry.objects.get().person) == ("opening", member)


def test_a_correction_of_somebody_gone_is_the_coordinator_s_to_decide(answers, client_of, coordinator, bay, member):
    """Neither of the two has a name any more: that does not make them one person's."""
    mine = load(bay)
    send([mine], member)
    undo = correction(bay.site, mine["uid"])
    uid = member.uid
    forget(member)
    member.delete()
    handed_in(Member(uid=uid), undo)
    page = client_of(coordinator).get(reverse("heaps:tray")).content.decode()
    assert "It is about this entry" in page and "80 litres" not in page and "2 × 40 litres" in page
    assert wet_g() == 16_000
    answers("place", undo["uid"])
    assert wet_g() == 0
    assert set(Entry.objects.values_list("person", flat=True)) == {None}


def test_what_does_not_belong_is_left_out_and_can_come_back(answers, bay, member) -> None:
    raw = load(bay)
    handed_in(member, raw)
    assert "Left out" in answers("leave out", raw["uid"]).content.decode()
    assert [one.told.uid for one in tray(NOON).left_out] == [raw["uid"]] and tray(NOON).parked == ()
    assert [one.state for one in send([raw], member)] == ["known"]  # its phone need not keep it
    assert "Somebody has just settled" in answers("place", raw["uid"]).content.decode()
    assert not Entry.objects.exists()
    answers("bring back", raw["uid"])
    assert tray(NOON).left_out == ()
    answers("place", raw["uid"])
    assert Entry.objects.get().person == member


@pytest.mark.parametrize("first", ["place", "leave out"])
@pytest.mark.parametrize("second", ["place", "leave out", "bring back"])
def test_whoever_comes_second_is_told_so_kindly(answers, bay, member, first: str, second: str) -> None:
    raw = load(bay)
    handed_in(member, raw)
    answers(first, raw["uid"])
    answer = answers(second, raw["uid"])
    assert answer.status_code == 200
    assert ("Somebody has just settled" in answer.content.decode()) == ((first, second) != ("leave out", "bring back"))
    assert Entry.objects.count() == (first == "place")
