"""Leaving: the person goes from everywhere, the amounts stay, and nothing brings the person back."""

import json
import uuid
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.test import Client
from django.utils import timezone

from cooperative import leaving
from heaps import history
from heaps.models import Attendance, Bay, DayTotal, Entry, Parked, Site
from heaps.sync import Sending, accept
from members import tickets
from members.models import Cooperative, Member, Session, Ticket
from tests.conftest import prove

pytestmark = pytest.mark.ledger

ClientOf = Callable[[Member | None], Client]
PHONE = uuid.UUID("0d0e0f00-1111-4222-8333-444455556666")
COFFEE = {"feedstock": "coffee", "half_containers": 3, "container_ml": 10_000}


def sent(bay: Bay, person: Member, when: datetime, /, **said: Any) -> dict[str, Any]:
    """One load through the door from a phone of its own."""
    raw = {
        "wire": 1,
        "uid": str(uuid.uuid4()),
        "kind": "dropoff",
        "site": str(bay.site.uid),
        "bay": str(bay.uid),
        "occurred_at": when.isoformat(),
        "by_hand": False,
        "details": COFFEE,
        "words": "",
    } | said
    accept([raw], Sending(person, PHONE, sent_at=when, received_at=when))
    return raw


@pytest.fixture
def zuleika(bay: Bay, at: Callable[..., datetime]) -> Member:
    """Somebody with a rare name, who has recorded, is still waited for in the tray, and is signed in twice."""
    someone = Member.objects.create_member("zu.qwex", "Zuleika Qwexby", "xylophone in the shed")
    sent(bay, someone, at(3, 3), words="Brought by Zuleika's vermilion wheelbarrow")
    original = sent(bay, someone, at(4, 3), words="vermilion again")
    correction = {"corrects": original["uid"], "says": "withdraw"}
    sent(bay, someone, at(4, 4), kind="correction", bay=None, details=correction, words="not vermilion")
    sent(bay, someone, at(5, 3), bay=str(uuid.uuid4()), words="parked vermilion")
    for _browser in range(2):
        Client().force_login(someone)
    return someone


def dump() -> str:
    """Every row of every table, sessions read."""
    rows = [
        [model._meta.label, *model._default_manager.values_list()]
        for model in apps.get_models(include_auto_created=True)
    ]
    return json.dumps([rows, [session.get_decoded() for session in Session.objects.all()]], default=str)


def traces(someone: Member) -> list[str]:
    uids = (someone.uid, PHONE)
    told = [someone.name, "Zuleika", someone.username, "ermilion", someone.password]
    return [*told, *(str(uid) for uid in uids), *(uid.hex for uid in uids)]


def leave(browser: Client) -> Any:
    return browser.post("/me/leave/")


def test_a_dump_of_everything_holds_no_trace(zuleika: Member, client_of: ClientOf, administrator: Member) -> None:
    office = client_of(administrator)
    office.post(f"/set-up/people/{zuleika.uid}/password/", {"new": "xylophone in the shed"})  # says so on the next page
    zuleika.refresh_from_db()
    browser = client_of(zuleika)
    for trace in traces(zuleika):
        assert trace in dump() or len(trace) == 32, "the test looks for something that was never there"
    assert leave(browser)["Location"] == "/sign-in/"
    after = dump()
    assert [trace for trace in traces(zuleika) if trace in after] == []
    assert Entry.objects.count() == 3 and Parked.objects.count() == 1
    assert office.get("/set-up/").status_code == 200


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_the_file_itself_holds_no_trace(zuleika: Member, client_of: ClientOf) -> None:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA secure_delete = OFF")  # some builds of SQLite overwrite what is deleted, others do not
    file = Path(connection.settings_dict["NAME"])
    found = [trace for trace in traces(zuleika) if trace.encode() in file.read_bytes()]
    assert {"Zuleika Qwexby", "zu.qwex", "ermilion", zuleika.uid.hex, PHONE.hex} <= set(found)
    leave(client_of(zuleika))
    after = file.read_bytes()
    assert [trace for trace in traces(zuleika) if trace.encode() in after] == []


def test_amounts_and_numbers_of_people_stay(
    zuleika: Member, member: Member, client_of: ClientOf, treasurer: Member, bay: Bay, at, site: Site
) -> None:
    sent(bay, member, at(3, 9))
    year = "/year/2026/came-and-went.csv"
    before = client_of(treasurer).get(year).getvalue()
    sums = list(DayTotal.objects.order_by("pk").values_list())
    leave(client_of(zuleika))
    assert client_of(treasurer).get(year).getvalue() == before
    assert b",people,,,,,,,,2,\r\n" in before
    assert list(DayTotal.objects.order_by("pk").values_list()) == sums
    assert history.drift(site) == []
    assert Attendance.objects.count() == 1


def test_without_a_proof_nothing_goes(zuleika: Member, client_of: ClientOf) -> None:
    browser = client_of(zuleika)
    prove(browser, ago=15 * 60 + 5)
    before = dump()
    assert leave(browser)["Location"] == "/confirm/?next=%2Fme%2Fleave%2F&password_will_do=1"
    assert dump() == before


def test_one_s_own_password_will_do(zuleika: Member, client_of: ClientOf) -> None:
    browser = client_of(zuleika)
    prove(browser, by="password")
    assert leave(browser)["Location"] == "/sign-in/"


def test_whoever_has_left_is_signed_out_everywhere_and_comes_in_nowhere(zuleika: Member, client_of: ClientOf) -> None:
    phone, browser = client_of(zuleika), client_of(zuleika)
    answer = browser.post("/me/leave/", follow=True)
    assert "You have left." in answer.content.decode()
    for each in (phone, browser):
        assert each.get("/me/")["Location"].startswith("/sign-in/")
    signing_in = {"username": "zu.qwex", "password": "xylophone in the shed"}
    assert Client().post("/sign-in/", signing_in).status_code == 200


def test_late_entries_wait_on_the_phone_and_bring_nobody_back(
    zuleika: Member, client_of: ClientOf, bay: Bay, other_member: Member, at
) -> None:
    phone = client_of(zuleika)
    late = {**sent(bay, other_member, at(6, 1)), "uid": str(uuid.uuid4()), "words": "late vermilion"}
    leave(client_of(zuleika))
    body = {
        "wire": 1,
        "device": str(PHONE),
        "person": str(zuleika.uid),
        "sent_at": timezone.now().isoformat(),
        "waiting": 1,
        "entries": [late],
    }
    before = Entry.objects.count()
    asked = {"data": json.dumps(body), "content_type": "application/json"}
    assert phone.post("/sync/", **asked).status_code == 401
    assert client_of(other_member).post("/sync/", **asked).status_code == 409
    assert (Entry.objects.count(), Parked.objects.count()) == (before, 1)
    assert not Member.objects.filter(uid=zuleika.uid).exists()
    assert "late vermilion" not in dump()


def test_the_only_administrator_stays(client_of: ClientOf, administrator: Member, member: Member) -> None:
    browser = client_of(administrator)
    assert "You are the only administrator." in browser.get("/me/leave/").content.decode()
    assert leave(browser).status_code == 200
    assert Member.objects.filter(pk=administrator.pk).exists()
    Member.objects.filter(pk=member.pk).update(is_administrator=True, is_active=False)
    with pytest.raises(leaving.StaysBehind):
        leaving.erase(administrator.pk)
    Member.objects.filter(pk=member.pk).update(is_active=True)
    assert leave(browser).status_code == 302
    assert not Member.objects.filter(pk=administrator.pk).exists()


def test_an_administrator_erases_somebody_after_showing_that_it_is_them(
    zuleika: Member, client_of: ClientOf, administrator: Member
) -> None:
    where, browser = f"/set-up/people/{zuleika.uid}/erase/", client_of(administrator)
    assert "Erase Zuleika Qwexby" in browser.get(where).content.decode()
    prove(browser, by="password")
    assert browser.post(where)["Location"].startswith("/confirm/")
    assert Member.objects.filter(pk=zuleika.pk).exists()
    prove(browser, by="words")
    page = browser.post(where, follow=True).content.decode()
    assert "Erased." in page and "Zuleika" not in page
    assert [trace for trace in traces(zuleika) if trace in dump()] == []
    assert browser.get(where).status_code == 404


def test_everything_about_me_is_a_file(zuleika: Member, client_of: ClientOf, keep, bay: Bay, at, other_member) -> None:
    sent(bay, other_member, at(3, 4), words="somebody else's")
    sent(bay, zuleika, at(6, 4))
    first = Entry.objects.filter(person=zuleika).earliest("pk")
    keep("correction", None, at(6, 1), corrects=str(first.uid), says="withdraw", words="said by the coordinator")
    answer = client_of(zuleika).get("/me/everything.json")
    assert answer["Content-Disposition"] == 'attachment; filename="everything-about-me.json"'
    assert "no-store" in answer["Cache-Control"]
    text = answer.getvalue().decode()
    found = json.loads(text)
    assert found["account"]["name"] == "Zuleika Qwexby" and found["account"]["roles"] == ["member"]
    assert [entry["words"] for entry in found["entries"]] == [
        "Brought by Zuleika's vermilion wheelbarrow", "vermilion again", "not vermilion", "",
    ]  # fmt: skip
    load = found["entries"][0]
    assert (load["details"], load["bay"], load["phone"]) == (COFFEE, "Bay 1", str(PHONE))
    assert [one["by"] for entry in found["entries"] for one in entry["corrections"]] == ["somebody else", "you"]
    assert [one["entry"]["words"] for one in found["entries_to_place"]] == ["parked vermilion"]
    assert found["months"] == [{"site": "Lane Side", "month": "2026-06-01", "entries": 1}]
    assert [len(device["signed_in_until"]) for device in found["devices"]] == [1, 1, 1]
    for not_mine in (other_member.name, "somebody else's", "said by the coordinator", zuleika.password):
        assert not_mine not in text


def test_being_coordinator_of_a_site_is_told_and_goes_with_the_person(
    steward: Member, client_of: ClientOf, site: Site
) -> None:
    found = json.loads(client_of(steward).get("/me/everything.json").getvalue())
    assert found["account"]["roles"] == ["member", "coordinator of Lane Side"]
    leaving.erase(steward.pk)
    assert not site.stewardships.exists()


def test_how_long_names_stay_is_told(client_of: ClientOf, member: Member, cooperative: Cooperative) -> None:
    Cooperative.objects.update(keep_names_months=7)
    assert "7 months after an entry" in client_of(member).get("/me/leave/").content.decode()


def test_a_large_file_comes_in_parts(
    zuleika: Member, client_of: ClientOf, bay: Bay, at, monkeypatch, django_assert_max_num_queries
) -> None:
    for day in range(1, 8):
        sent(bay, zuleika, at(7, day))
    whole = json.loads(client_of(zuleika).get("/me/everything.json").getvalue())
    monkeypatch.setattr(leaving, "AT_ONCE", 3)
    parts = json.loads(client_of(zuleika).get("/me/everything.json").getvalue())
    assert len(whole["entries"]) == 10
    assert parts["entries"] == whole["entries"]


def test_one_s_file_tells_of_open_tickets_and_leaving_takes_them_along(zuleika: Member, client_of: ClientOf) -> None:
    told = tickets.sign_in_words(zuleika, zuleika, timezone.now())
    browser = client_of(zuleika)
    (listed,) = json.loads(browser.get("/me/everything.json").getvalue())["invitations_and_words"]
    assert (listed["for"], listed["made_by"]) == ("you, on another phone", "you")
    leave(browser)
    assert not Ticket.objects.filter(pk=told.ticket.pk).exists()


@pytest.mark.parametrize("name", ["Zo\u00eb", 'Zo "Zed" Quill', "O'Zoe", "\u0417\u043e\u044f", "Zoe & Co"])
def test_what_others_are_still_to_be_told_names_nobody_who_has_left(
    client_of: ClientOf, administrator: Member, member: Member, name: str
) -> None:
    gone = Member.objects.create_member("qwexby", name)
    teller, other = client_of(administrator), client_of(administrator)
    teller.post(f"/set-up/people/{gone.uid}/", {"account": "close"})
    other.post(f"/set-up/people/{member.uid}/", {"account": "close"})
    leaving.erase(gone.pk)
    assert "_messages" not in teller.session
    assert "can no longer sign in" in other.get("/set-up/people/").content.decode()  # what names others stays


def test_words_do_not_outlive_whoever_made_them(coordinator: Member, member: Member) -> None:
    told = tickets.sign_in_words(member, coordinator, timezone.now())
    leaving.erase(coordinator.pk)
    assert tickets.by_link(told.link, timezone.now()) is None
