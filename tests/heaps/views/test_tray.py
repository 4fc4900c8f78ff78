"""The tray: each answer is an entry of its own, and a placed entry stays its sender's."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from heaps import history
from heaps.ledger import KINDS
from heaps.models import Bay, DayTotal, Entry, Parked, Question, Site, Stewardship, StoredBay
from heaps.stewards import care_of
from heaps.sync import Sending, hand_in
from heaps.tray import leave_out, of_day, place, said, tray
from members.models import Member
from tests.sendings import NOON, correction, load, send

pytestmark = pytest.mark.ledger  # its questions to the database run on PostgreSQL too
ClientOf = Callable[[Member | None], Client]
A_BUCKET: dict[str, Any] = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
STRANGE_BAY = "11111111-1111-4111-8111-111111111111"
UID = "22222222-2222-4222-8222-222222222222"


def test_an_entry_of_every_kind_can_be_told() -> None:
    missing = {kind for kind, what in KINDS.items() if what not in said.TELLERS}
    assert not missing, f"how {sorted(missing)} reads for a coordinator: TELLERS in heaps/tray/said.py"


@pytest.fixture
def answers(client_of: ClientOf, coordinator: Member) -> Callable[..., Any]:
    """The coordinator presses a button."""

    def answers(says: str, entry: str, **fields: str) -> Any:
        said = {"says": says, "entry": entry, **fields}
        return client_of(coordinator).post(reverse("heaps:tray"), said, follow=True)

    return answers


@pytest.fixture
def twice(keep, bay, at, member, other_member) -> list[str]:
    """One load that two people recorded."""
    return [keep("dropoff", bay, at(5, 1, 10, minute), by=by, **A_BUCKET).uid
            for minute, by in ((0, member), (9, other_member))]  # fmt: skip


def test_it_was_one_load(answers, twice: list[str], coordinator, site) -> None:
    assert len(tray(Entry.objects.latest("received_at").received_at).asked) == 1
    assert "Settled" in answers("withdraw", twice[1]).content.decode()
    assert DayTotal.objects.get().entries == 1
    assert not Question.objects.filter(settled_at=None).exists()
    correction = Entry.objects.get(kind="correction")
    assert (correction.person, correction.details) == (coordinator, {"corrects": twice[1], "says": "withdraw"})
    assert Entry.objects.filter(kind="dropoff").count() == 2  # nothing was rubbed out
    assert history.drift(site) == []


def test_both_loads_are_right(answers, twice: list[str]) -> None:
    answers("stands", twice[0])
    assert DayTotal.objects.get().entries == 2
    assert not Question.objects.filter(settled_at=None).exists()


def test_a_remark_is_settled_when_the_entry_stands(answers, keep, bay, at) -> None:
    keep("close", bay, at(5, 1))
    late = keep("dropoff", bay, at(5, 2), **A_BUCKET)
    (asked,) = tray(at(6, 1)).asked
    assert asked.question.startswith("This went into a closed bay") and not asked.is_about_two
    answers("stands", late.uid)
    assert tray(at(6, 1)).asked == ()
    assert StoredBay.objects.get().state["batch"]["content"]["coffee/estimated"]["volume_ml"] == 10_000


def test_what_was_corrected_stands_as_corrected(answers, keep, twice: list[str], bay, at, member) -> None:
    keep("correction", None, at(5, 1, 11), corrects=twice[0], says="instead", kind="dropoff", bay=str(bay.uid),
         details={**A_BUCKET, "half_containers": 6}, by=member)  # fmt: skip
    answers("stands", twice[0])
    assert DayTotal.objects.get().volume_ml == 30_000 + 10_000


def test_a_correction_without_its_entry_is_listed_after_ninety_days(keep, at, coordinator) -> None:
    keep("correction", None, at(1, 1), corrects=UID, says="withdraw")
    assert tray(at(1, 1) + timedelta(days=89)).lost == ()
    (lost,) = tray(at(1, 1) + timedelta(days=91)).lost
    assert lost.person == coordinator.name


def parked(keep, site: Site, at, by: Member, **details: Any) -> Parked:
    """A load for a bay that is not known here."""
    lost = Bay(uid=STRANGE_BAY, site=site)
    keep("dropoff", lost, at(5, 1), uid=UID, by=by, arrives=at(5, 3), wants="parked", **{**A_BUCKET, **details})
    return Parked.objects.get()


def test_a_parked_entry_is_placed_as_its_sender_sent_it(answers, keep, site, bay, at, member) -> None:
    one = parked(keep, site, at, member)
    assert "Settled" in answers("place", UID, **{"bay-0": str(bay.uid)}).content.decode()
    entry = Entry.objects.get()
    assert (str(entry.uid), entry.bay, entry.person, entry.device) == (UID, bay, member, one.device)
    assert (entry.received_at, entry.occurred_at) == (one.received_at, at(5, 1))
    assert DayTotal.objects.get().volume_ml == 10_000
    assert tray(at(6, 1)).parked == ()
    assert history.drift(site) == []
    lost = Bay(uid=STRANGE_BAY, site=site)  # offered again after a restore, it is known
    keep("dropoff", lost, at(5, 1), uid=UID, by=member, arrives=at(6, 3), wants="known", **A_BUCKET)
    assert Entry.objects.count() == 1


@pytest.mark.parametrize("odd", [{"details": "x"}, {"details": [1]}, {"sources": 5}, {"details": {"sources": 5}}])
def test_no_odd_entry_shuts_the_tray(client_of, keep, site, coordinator, at, odd: dict[str, Any]) -> None:
    nowhere = Bay(uid=STRANGE_BAY, site=Site(uid=STRANGE_BAY, name="?"))
    keep("correction", nowhere, at(5, 1), wants="refused", corrects=UID, says="withdraw", **odd)
    keep("correction", nowhere, at(5, 1), wants="parked", corrects=UID, says="withdraw")
    assert client_of(coordinator).get(reverse("heaps:tray")).status_code == 200


@pytest.mark.parametrize("chosen", [{}, {"bay-0": ""}, {"bay-0": "x"}, {"bay-0": STRANGE_BAY}])
def test_without_a_bay_it_stays_parked(answers, keep, site, at, member, chosen: dict[str, str]) -> None:
    parked(keep, site, at, member)
    assert "Choose a bay first" in answers("place", UID, **chosen).content.decode()
    assert tray(at(6, 1)).parked and not Entry.objects.exists()


def test_bays_of_two_sites_cannot_be_one_turn(answers, keep, site, bay, at, member) -> None:
    elsewhere = Site.objects.create(name="Mill Field")
    far = Bay.objects.create(site=elsewhere, name="Far", position=1, length_cm=90, width_cm=90, height_cm=90)
    keep("turn", bay, at(5, 1), uid=UID, by=member, wants="parked", sources=[{"bay": STRANGE_BAY, "per_cent": 100}])
    page = answers("place", UID, **{"bay-0": str(bay.uid), "bay-1": str(far.uid)}).content.decode()
    assert "Not settled" in page
    assert tray(at(6, 1)).parked and not Entry.objects.exists()
    answers("place", UID, **{"bay-0": str(bay.uid), "bay-1": str(site.bays.get(name="Bay 2").uid)})
    assert Entry.objects.get().kind == "turn" and tray(at(6, 1)).parked == ()


def item_refused(answer: Any) -> str:
    """What stands in the one entry that was not taken in, of a page that came back in place of another."""
    (item,) = [one for one in answer.content.decode().split("<li") if 'id="not-settled"' in one]
    assert not answer.redirect_chain and not list(answer.context["messages"])
    return item


def test_a_missing_bay_is_said_at_its_own_form_and_the_other_stays_chosen(answers, keep, site, bay, at, member) -> None:
    parked(keep, site, at, member)
    turn = keep("turn", bay, at(5, 1), by=member, wants="parked", sources=[{"bay": STRANGE_BAY, "per_cent": 100}]).uid
    second = site.bays.get(name="Bay 2")
    item = item_refused(answers("place", turn, **{"bay-0": str(second.uid), "bay-1": ""}))
    assert turn in item and "Not settled. Choose a bay first." in item
    assert item.count(" selected") == 1 and f'value="{second.uid}" selected' in item
    assert item.count("aria-invalid") == 1 and 'name="bay-1" aria-invalid="true"' in item


def test_a_site_that_was_chosen_stays_chosen(answers, keep, bay, at, member) -> None:
    elsewhere = Site.objects.create(name="Mill Field")
    theirs = keep("dropoff", bay, at(5, 1), by=member, **A_BUCKET).uid
    nowhere = correction(Site(uid=STRANGE_BAY), theirs)
    send([nowhere], member)
    item = item_refused(answers("place", nowhere["uid"], site=str(elsewhere.uid)))
    assert "recorded at another site" in item
    assert f'value="{elsewhere.uid}" selected' in item and "aria-invalid" not in item


def test_what_the_ledger_refuses_stays_parked(answers, keep, site, bay, at, member) -> None:
    """A member corrects an entry that had not come yet; it turns out to be one of another kind."""
    theirs = "33333333-3333-4333-8333-333333333333"
    keep("correction", None, at(5, 2), uid=UID, by=member, wants="parked", corrects=theirs, says="instead",
         kind="dropoff", bay=STRANGE_BAY, details=A_BUCKET)  # fmt: skip
    keep("water", bay, at(5, 1), uid=theirs, by=member, volume_ml=10_000)
    raw = Parked.objects.get().raw
    assert "another kind of entry" in answers("place", UID, **{"bay-0": str(bay.uid)}).content.decode()
    still = Parked.objects.get()
    assert (still.raw, still.placed_at) == (raw, None)


def test_an_entry_without_a_bay_needs_only_its_site(answers, keep, site, at, member) -> None:
    far = Bay(uid=STRANGE_BAY, site=Site(uid=STRANGE_BAY, name="?"))
    keep("dropoff", far, at(5, 1), uid=UID, by=member, wants="parked", **A_BUCKET)
    one = Parked.objects.get()
    one.raw = one.raw.replace(f'"bay": "{STRANGE_BAY}"', '"bay": null').replace('"dropoff"', '"hours"')
    one.raw = one.raw.replace('"feedstock": "coffee", "half_containers": 2, "container_ml": 10000',
                              '"minutes": 60, "people": 2')  # fmt: skip
    one.save()
    assert "Choose a site first" in answers("place", UID).content.decode()
    answers("place", UID, site=str(site.uid))
    assert DayTotal.objects.get().minutes == 120


@pytest.mark.parametrize("entry", ["", "x", STRANGE_BAY])
@pytest.mark.parametrize("says", ["withdraw", "stands", "place", "leave out", "bring back", "burn"])
def test_an_answer_to_nothing_is_not_found(answers, cooperative, says: str, entry: str) -> None:
    assert answers(says, entry).status_code == 404
    assert not Entry.objects.exists()


def test_no_browser_keeps_the_names_on_it(client_of: ClientOf, coordinator, twice: list[str]) -> None:
    page = client_of(coordinator).get(reverse("heaps:tray"))
    assert "no-store" in page["Cache-Control"] and "Recorded by Ada." in page.content.decode()


def test_nothing_is_asked_that_cannot_be_answered(answers, keep, bay, at, member) -> None:
    """A phone that was away for a season: its load is asked about; its undoing has no date to judge."""
    load = keep("dropoff", bay, at(5, 1), by=member, arrives=at(8, 1), **A_BUCKET)
    keep("correction", None, at(5, 2), by=member, arrives=at(8, 1), corrects=load.uid, says="instead",
         kind="dropoff", bay=str(bay.uid), details=A_BUCKET)  # fmt: skip
    for asked in tray(at(8, 2)).asked:
        assert "Settled" in answers("stands", asked.entries[0].uid).content.decode()
    assert tray(at(8, 3)).asked == ()


def test_what_may_no_longer_go_in_does_not_shut_the_tray(
    answers, client_of, coordinator, keep, site, bay, at, member, never_from_now_on
) -> None:
    parked(keep, site, at, member)
    never_from_now_on("coffee")
    assert "never goes in" in client_of(coordinator).get(reverse("heaps:tray")).content.decode()
    assert "Not settled" in answers("place", UID, **{"bay-0": str(bay.uid)}).content.decode()


def test_an_entry_nobody_asked_about_is_found_by_its_day_and_taken_back(
    answers, client_of, coordinator, keep, bay, at, site
) -> None:
    site.time_zone = "Pacific/Auckland"
    site.save()
    late = keep("dropoff", bay, at(5, 1, 20), **A_BUCKET)  # the morning of the second on the ground
    page = client_of(coordinator).get(reverse("heaps:tray"), {"day": "2026-05-01"}).content.decode()
    assert "Nothing is recorded for that day" in page
    page = client_of(coordinator).get(reverse("heaps:tray"), {"day": "2026-05-02"}).content.decode()
    assert late.uid in page
    answers("withdraw", late.uid)
    assert not DayTotal.objects.filter(entries__gt=0).exists()
    assert of_day(date(2026, 5, 2)) == ()
    assert history.drift(site) == []


def handed_in(person: Member, *raws: dict[str, Any]) -> None:
    """A phone that is no longer signed in hands in what somebody recorded on it."""
    sending = Sending(None, uuid.UUID(int=7), sent_at=NOON, received_at=NOON + timedelta(hours=1))
    assert {one.state for one in hand_in(raws, str(person.uid), sending)} == {"parked"}


def test_one_site_s_coordinator_sees_and_settles_only_that(bay, member, other_member) -> None:
    mill = Site.objects.create(name="Mill Field")
    far = Bay.objects.create(site=mill, name="Far", position=1, length_cm=90, width_cm=90, height_cm=90)
    Stewardship.objects.create(site=mill, member=other_member)
    here, there, nowhere = load(bay), load(far), load(bay, site=STRANGE_BAY)
    handed_in(member, here, there, nowhere)
    assert len(tray(NOON).parked) == 3
    assert [one.told.uid for one in tray(NOON, care_of(other_member)).parked] == [there["uid"]]
    for one in (here, nowhere):
        assert place(uuid.UUID(one["uid"]), {}, other_member, NOON) is None
        assert leave_out(uuid.UUID(one["uid"]), other_member, NOON) is None
    assert not Entry.objects.exists() and len(tray(NOON).parked) == 3
    receipt = place(uuid.UUID(there["uid"]), {}, other_member, NOON)
    assert receipt and receipt.state == "accepted"


def test_the_number_of_questions_does_not_grow_with_the_tray(
    bay, member, other_member, coordinator, django_assert_num_queries
) -> None:
    def fill(count: int) -> None:
        loads = [load(bay, minutes=40 * place) for place in range(count)]
        send([*loads, load(bay, kind="close", minutes=-99) | {"details": {}}], member)
        send([load(bay, minutes=40 * place + 1) for place in range(count)], other_member)
        handed_in(member, *[load(bay) for _ in range(count // 2)],
                  *[correction(bay.site, one["uid"]) for one in loads[: count // 2]])  # fmt: skip

    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert tray(NOON + timedelta(days=9)).parked
        return len(seen)

    fill(2)
    few = asked()
    fill(50)
    assert len(tray(NOON).asked) > 100 and len(tray(NOON).parked) > 50
    assert asked() == few
