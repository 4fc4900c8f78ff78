"""The ledger's door: one receipt an entry, each taken at most once, nothing dropped."""

import threading
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection, connections

from heaps import history
from heaps.models import Attendance, Bay, Container, DayTotal, Donor, Entry, Ledger, Parked, Question, Site, Use
from heaps.names import forget
from heaps.sync import Sending, accept
from heaps.tray import place
from members.models import Member
from tests.sendings import NOON, correction, load, send, states, wet_g

pytestmark = [pytest.mark.ledger, pytest.mark.django_db]


def test_the_good_entries_beside_bad_ones_go_in(bay: Bay, member: Member) -> None:
    bad = load(bay, details={"feedstock": "grass-fresh", "half_containers": 10**6, "container_ml": 40_000})
    receipts = send([load(bay), bad, "nonsense", load(bay, wire=2), load(bay, minutes=1)], member)
    assert states(receipts) == ["accepted", "refused", "refused", "refused", "accepted"]
    assert "from 1 to 400" in receipts[1].reason
    assert Entry.objects.count() == 2
    assert wet_g() == 2 * 80_000 * 200 // 1000


def test_sent_again_is_known_and_counts_once(bay: Bay, member: Member) -> None:
    raw = load(bay)
    assert states(send([raw, raw], member)) == ["accepted", "known"]
    assert states(send([raw], member, timedelta(days=9))) == ["known"]
    assert Entry.objects.count() == 1
    assert Ledger.objects.get().entries == 1


def test_the_same_number_with_other_content_is_refused_and_the_first_stands(bay: Bay, member: Member) -> None:
    raw = load(bay)
    send([raw], member)
    receipts = send([load(bay, uid=raw["uid"], count=9)], member)
    assert states(receipts) == ["refused"]
    assert Entry.objects.get().details["half_containers"] == 4


def test_other_words_are_not_other_content(bay: Bay, member: Member) -> None:
    raw = load(bay)
    send([raw], member)
    assert states(send([raw | {"words": "more"}], member)) == ["known"]


def test_who_gave_a_load_is_kept_beside_it(bay: Bay, member: Member) -> None:
    stable = Donor.objects.create(kind="stable", organisation="Hobb Stables")
    raw = load(bay, donor=str(stable.uid))
    assert states(send([raw], member)) == ["accepted"]
    row = Entry.objects.get()
    assert row.donor == stable and "donor" not in row.details
    assert states(send([raw | {"donor": None}, raw | {"donor": str(uuid.uuid4())}], member)) == ["known", "known"]
    Donor.objects.all().delete()
    row.refresh_from_db()
    assert row.donor is None


def test_a_giver_that_is_not_known_at_the_site_is_left_out(bay: Bay, member: Member) -> None:
    elsewhere = Donor.objects.create(kind="cafe", organisation="Far Cup", site=Site.objects.create(name="Far"))
    raws = [load(bay, donor=str(elsewhere.uid)), load(bay, minutes=1, donor=str(uuid.uuid4())), load(bay, donor=5)]
    assert states(send(raws, member)) == ["accepted"] * 3
    assert not Entry.objects.exclude(donor=None).exists()


def test_a_placed_load_keeps_who_gave_it(bay: Bay, member: Member, coordinator: Member) -> None:
    cafe = Donor.objects.create(kind="cafe", organisation="Long Cup", site=bay.site)
    lost = load(bay, bay=str(uuid.uuid4()), donor=str(cafe.uid))
    send([lost], member)
    forget(member)
    place(uuid.UUID(lost["uid"]), {"bay-0": str(bay.uid)}, coordinator, NOON)
    assert (Entry.objects.get().donor, Entry.objects.get().person) == (cafe, None)


def test_an_unknown_bay_is_parked_for_a_coordinator(bay: Bay, member: Member) -> None:
    lost = load(bay, bay=str(uuid.uuid4()))
    elsewhere = load(bay, site=str(uuid.uuid4()))
    turn = load(bay, kind="turn", details={"sources": [{"bay": str(uuid.uuid4()), "per_cent": 100}]})
    receipts = send([lost, elsewhere, turn, load(bay)], member)
    assert states(receipts) == ["parked", "parked", "parked", "accepted"]
    assert states(send([lost], member)) == ["parked"]
    assert Parked.objects.count() == 3
    assert Entry.objects.count() == 1


def test_a_parked_entry_keeps_every_character(bay: Bay, member: Member) -> None:
    odd = load(bay, bay=str(uuid.uuid4()), words="nul \x00, half a pair \ud800, and a leaf \U0001f342")
    assert states(send([odd], member)) == ["parked"]


def test_only_the_one_who_recorded_or_a_coordinator_corrects(
    bay: Bay, member: Member, other_member: Member, coordinator: Member
) -> None:
    raw = load(bay)
    send([raw], member)
    assert states(send([correction(bay.site, raw["uid"])], other_member)) == ["refused"]
    assert wet_g() == 16_000
    assert states(send([correction(bay.site, raw["uid"])], member)) == ["accepted"]
    assert wet_g() == 0
    assert not DayTotal.objects.exists()
    assert not Use.objects.exists()
    assert not Attendance.objects.exists()
    assert states(send([correction(bay.site, raw["uid"], "stands")], coordinator, timedelta(hours=3))) == ["accepted"]


def test_nobody_is_not_whoever_has_left(bay: Bay, member: Member) -> None:
    """An entry without a name, and a sending without one: they are not therefore one person's."""
    raw = load(bay)
    send([raw], member)
    member.delete()
    now = NOON + timedelta(hours=3)
    nobody = Sending(person=None, device=None, sent_at=now, received_at=now)
    assert states(accept([correction(bay.site, raw["uid"])], nobody)) == ["refused"]
    assert wet_g() == 16_000


def test_a_correction_without_a_name_that_came_first_is_asked_about(
    bay: Bay, member: Member, coordinator: Member
) -> None:
    raw = load(bay)
    send([correction(bay.site, raw["uid"])], member)
    member.delete()
    now = NOON + timedelta(hours=3)
    late = Sending(coordinator, None, sent_at=now, received_at=now, recorded_by={raw["uid"]: None})
    assert states(accept([raw], late)) == ["accepted"]
    assert Question.objects.get().why == Question.Why.EARLY


def test_only_a_coordinator_says_that_an_entry_stands(bay: Bay, member: Member, other_member: Member) -> None:
    mine = load(bay)
    send([mine], member)
    send([load(bay, minutes=9)], other_member)
    assert states(send([correction(bay.site, mine["uid"], "stands")], member)) == ["refused"]
    assert Question.objects.filter(settled_at=None).count() == 1


def test_a_correction_that_would_change_nothing_is_refused(
    bay: Bay, member: Member, other_member: Member, coordinator: Member
) -> None:
    other = Site.objects.create(name="Mill Field")
    far = Bay.objects.create(site=other, name="Far", position=1, length_cm=90, width_cm=90, height_cm=90)
    raw, undone = load(bay), load(bay, minutes=60)
    undo = correction(bay.site, undone["uid"])
    there = correction(other, raw["uid"], "instead", kind="dropoff", bay=str(far.uid), details=raw["details"])
    water = correction(bay.site, raw["uid"], "instead", kind="water", bay=str(bay.uid), details={"volume_ml": 1_000})
    redo = correction(bay.site, undo["uid"])
    send([load(bay, minutes=9)], other_member)
    assert states(send([raw, undone, undo, redo], member)) == ["accepted"] * 3 + ["refused"]
    assert states(send([there, water, redo], coordinator)) == ["refused"] * 3
    assert Question.objects.filter(settled_at=None).count() == 1
    assert wet_g() == 2 * 16_000


@pytest.mark.parametrize("year", ["0001-01-01", "0005-06-01"])
def test_a_correction_to_an_absurd_year_is_taken(bay: Bay, coordinator: Member, year: str) -> None:
    details = {"volume_ml": 500_000, "age_days": 3_650, "make_up": [["grass-fresh", 50], ["cardboard", 50]]}
    opening, raw = load(bay, kind="opening", details=details), load(bay, minutes=1)
    send([opening, raw], coordinator)
    fixes = [
        correction(bay.site, one["uid"], "instead", kind=one["kind"], bay=str(bay.uid), details=one["details"],
                   occurred_at=f"{year}T00:00:00Z")
        for one in (opening, raw)
    ]  # fmt: skip
    assert states(send(fixes, coordinator)) == ["accepted"] * 2
    assert DayTotal.objects.get().day.year == 1990
    assert history.drift(bay.site) == []


def test_a_correction_may_come_first(bay: Bay, member: Member) -> None:
    raw = load(bay)
    assert states(send([correction(bay.site, raw["uid"])], member)) == ["accepted"]
    assert states(send([raw], member)) == ["accepted"]
    assert wet_g() == 0
    assert history.drift(bay.site) == []


def test_what_a_coordinator_settled_its_recorder_does_not_undo(bay: Bay, member: Member, coordinator: Member) -> None:
    raw = load(bay)
    again = {"kind": "dropoff", "bay": str(bay.uid), "details": raw["details"]}
    send([raw], member)
    send([correction(bay.site, raw["uid"])], coordinator)
    (receipt,) = send([correction(bay.site, raw["uid"], "instead", **again)], member, timedelta(hours=3))
    assert receipt.state == "refused" and "settled" in receipt.reason
    assert wet_g() == 0


def test_a_correction_to_another_bay_moves_the_load(bay: Bay, second_bay: Bay, member: Member) -> None:
    raw = load(bay)
    send([raw], member)
    moved = correction(bay.site, raw["uid"], "instead", kind="dropoff", bay=str(second_bay.uid), details=raw["details"])
    send([moved], member)
    assert list(DayTotal.objects.values_list("bay__name", "wet_g")) == [("Bay 2", 16_000)]
    states_now = history.current_states([bay.site_id])
    assert str(bay.uid) not in states_now
    assert states_now[str(second_bay.uid)].batch


def test_only_a_coordinator_opens_a_bay(bay: Bay, member: Member, coordinator: Member) -> None:
    details = {"volume_ml": 500_000, "age_days": 60, "make_up": [["grass-fresh", 50], ["cardboard", 50]]}
    opening = load(bay, kind="opening", details=details)
    assert states(send([opening], member)) == ["refused"]
    assert states(send([opening], coordinator)) == ["accepted"]
    assert not DayTotal.objects.exists()


def test_what_is_in_the_ledger_stays_when_the_list_changes(
    bay: Bay, member: Member, never_from_now_on: Callable[[str], None]
) -> None:
    send([load(bay), load(bay, minutes=9, kind="close") | {"details": {}}], member)
    never_from_now_on("grass-fresh")
    wood = {"feedstock": "cardboard", "half_containers": 2, "container_ml": 40_000}
    assert states(send([load(bay, minutes=-9, details=wood), load(bay)], member)) == ["accepted", "refused"]
    assert history.drift(bay.site) == []


def test_a_day_is_the_sites_local_day(bay: Bay, member: Member) -> None:
    bay.site.time_zone = "Pacific/Auckland"
    bay.site.save()
    send([load(bay)], member)  # noon UTC is midnight there
    assert DayTotal.objects.get().day.isoformat() == "2026-05-02"


def test_uses_count_by_feedstock_and_container(bay: Bay, member: Member, bucket: Container) -> None:
    details = {
        "feedstock": "grass-fresh",
        "half_containers": 2,
        "container_ml": bucket.filled_ml,
        "container": str(bucket.uid),
    }
    send([load(bay, details=details), load(bay, details=details, minutes=3), load(bay, minutes=5)], member)
    assert sorted(Use.objects.values_list("container__name", "loads"), key=str) == [("bucket", 2), (None, 1)]


def test_another_sites_container_counts_as_none(bay: Bay, member: Member, bucket: Container) -> None:
    other = Site.objects.create(name="Mill Field")
    far = Bay.objects.create(site=other, name="Far", position=1, length_cm=90, width_cm=90, height_cm=90)
    details = load(bay)["details"] | {"container": str(bucket.uid)}
    send([load(one, details=details) for one in (bay, far)], member)
    assert history.drift(bay.site) + history.drift(other) == []
    assert Use.objects.get(site=other).container is None


def test_what_has_no_bay_or_container_adds_to_what_is_there(bay: Bay, member: Member) -> None:
    hours = {"kind": "hours", "bay": None, "details": {"minutes": 30, "people": 2}}
    for minutes in (0, 1):
        send([load(bay, minutes=minutes), load(bay, minutes=minutes, **hours)], member)
    assert DayTotal.objects.get(what="hours").minutes == 120
    assert Use.objects.get().loads == 2


def test_the_number_of_queries_does_not_grow_with_the_sending(
    bay: Bay, member: Member, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    send([load(bay)], member)
    with django_assert_max_num_queries(34):
        send([load(bay, minutes=place) for place in range(1, 50)], member)


@pytest.mark.django_db(transaction=True)
def test_ten_at_once_store_each_entry_once(bay: Bay, member: Member) -> None:
    raws = [load(bay, minutes=place) for place in range(20)]
    answers: list[list[str]] = []

    def hand_in() -> None:
        try:
            answers.append(states(send(raws, member)))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=hand_in) for _ in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 10
    assert sorted(answer[0] for answer in answers) == ["accepted", *["known"] * 9]
    assert Entry.objects.count() == 20
    assert history.drift(bay.site) == []
    connection.close()
