"""A file that a phone saved is brought in once, as whose it is; a changed one gives nobody's name to anything."""

import hashlib
import hmac
import io
import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from heaps import carried
from heaps.models import Bay, Entry, Parked
from heaps.parking import FROM_FILE, HANDED_IN
from members.hand_over import key_of
from members.models import Device, Member, Session
from tests.letters import body, load, post

pytestmark = pytest.mark.ledger

ClientOf = Callable[..., Client]
HERE = "/tray/from-a-phone/"


def sealed(person: Member | None, *entries: dict[str, Any], key: str | None = None) -> dict[str, Any]:
    """A letter as a phone writes it into a file."""
    said = {"wire": 1, "device": str(uuid.UUID(int=7)), "person": str(person.uid) if person else None}
    text = json.dumps(said | {"sent_at": "2026-05-01T10:00:00.000Z", "entries": list(entries)})
    key = key or (key_of(person) if person else None)
    seal = hmac.new(key.encode(), text.encode(), hashlib.sha256).hexdigest() if key else None
    return {"text": text, "seal": seal}


def file_of(*letters: dict[str, Any], **more: Any) -> str:
    return json.dumps({"heaps": 1, "in_words": [], "letters": list(letters), "set_aside": []} | more)


def bring(browser: Client, *texts: str) -> str:
    files = [io.BytesIO(text.encode()) for text in texts]
    for place, one in enumerate(files):
        one.name = f"kept-on-this-phone-{place}.json"
    answer = browser.post(HERE, {"files": files})
    assert answer.status_code == 200
    return str(answer.content.decode())


@pytest.fixture
def phone(client_of: ClientOf, member: Member, bay: Bay) -> Client:
    """Ada's phone, signed in, which has sent something before."""
    browser = client_of(member)
    post(browser, body(member, [load(bay)]))
    return browser


@pytest.mark.usefixtures("phone")
def test_from_a_phone_that_is_signed_in_it_goes_in_as_its_person_s_and_once(
    client_of: ClientOf, coordinator: Member, member: Member, bay: Bay
) -> None:
    text = file_of(sealed(member, load(bay, words="wet"), load(bay)))
    seen = bring(client_of(coordinator), text)
    assert seen.count("taken in") == 2
    assert {one.person for one in Entry.objects.all()} == {member}
    again = bring(client_of(coordinator), text, text)
    assert again.count("here already") == 4
    assert Entry.objects.count() == 3


def test_the_phone_that_has_signal_again_is_told_that_all_is_known(
    phone: Client, client_of: ClientOf, coordinator: Member, member: Member, bay: Bay
) -> None:
    entry = load(bay)
    bring(client_of(coordinator), file_of(sealed(member, entry)))
    (receipt,) = post(phone, body(member, [entry])).json()["receipts"]
    assert receipt["state"] == "known"
    assert Entry.objects.count() == 2


def test_the_times_stay_those_of_the_phone_however_late_the_file_comes(
    phone: Client, client_of: ClientOf, coordinator: Member, member: Member, bay: Bay
) -> None:
    entry = load(bay)
    bring(client_of(coordinator), file_of(sealed(member, entry)))
    row = Entry.objects.get(uid=entry["uid"])
    assert row.effective_at == row.occurred_at


def test_it_may_do_no_more_than_its_person(
    phone: Client, client_of: ClientOf, coordinator: Member, member: Member, other_member: Member, bay: Bay
) -> None:
    theirs = load(bay)
    post(client_of(other_member), body(other_member, [theirs]))
    undo = load(bay, kind="correction", details={"corrects": theirs["uid"], "says": "withdraw"}) | {"bay": None}
    assert "Only the person who recorded it" in bring(client_of(coordinator), file_of(sealed(member, undo)))
    assert Entry.objects.count() == 2


def test_from_a_phone_that_was_signed_out_it_is_laid_aside(
    phone: Client, client_of: ClientOf, coordinator: Member, member: Member, bay: Bay
) -> None:
    Session.objects.filter(device__member=member).delete()
    assert "laid aside" in bring(client_of(coordinator), file_of(sealed(member, load(bay))))
    assert [(one.person, one.reason) for one in Parked.objects.all()] == [(member, HANDED_IN)]


@pytest.mark.usefixtures("phone")
def test_what_somebody_changed_on_the_way_names_nobody(
    client_of: ClientOf, coordinator: Member, member: Member, bay: Bay
) -> None:
    letter = sealed(member, load(bay, words="from Ada"))
    changed = {**letter, "text": letter["text"].replace('"half_containers": 4', '"half_containers": 40')}
    assert changed != letter
    seen = bring(client_of(coordinator), file_of(changed))
    assert "The seal does not fit" in seen and "<b>Ada</b>" not in seen
    one = Parked.objects.get()
    assert (one.person, one.device, one.reason) == (None, None, FROM_FILE)
    assert "from Ada" not in one.raw
    assert Entry.objects.count() == 1


@pytest.mark.usefixtures("phone")
@pytest.mark.parametrize("of", ["nobody", "another"])
def test_nobody_can_write_a_letter_in_another_s_name(
    client_of: ClientOf, coordinator: Member, member: Member, other_member: Member, bay: Bay, of: str
) -> None:
    forged = sealed(member, load(bay), key=key_of(other_member) if of == "another" else "guessed")
    bring(client_of(coordinator), file_of(forged))
    assert Parked.objects.get().person is None


@pytest.mark.parametrize("settled", ["waiting", "left out"])
def test_the_phone_s_own_entry_takes_the_place_of_a_changed_copy(
    phone: Client, client_of: ClientOf, coordinator: Member, member: Member, bay: Bay, settled: str
) -> None:
    entry = load(bay)
    bring(
        client_of(coordinator),
        file_of(sealed(member, entry | {"details": entry["details"] | {"half_containers": 9}}, key="x")),
    )
    if settled == "left out":
        client_of(coordinator).post("/tray/", {"entry": entry["uid"], "says": "leave out"})
    (receipt,) = post(phone, body(member, [entry])).json()["receipts"]
    assert receipt["state"] == "accepted"
    assert not Parked.objects.exists()
    assert Entry.objects.get(uid=entry["uid"]).details["half_containers"] == 4


def test_a_changed_copy_that_was_placed_is_not_taken_for_the_phone_s_own(
    phone: Client, client_of: ClientOf, coordinator: Member, member: Member, bay: Bay
) -> None:
    entry = load(bay)
    bring(
        client_of(coordinator),
        file_of(sealed(member, entry | {"details": entry["details"] | {"half_containers": 9}}, key="x")),
    )
    client_of(coordinator).post("/tray/", {"entry": entry["uid"], "says": "place"})
    assert Entry.objects.get(uid=entry["uid"]).person is None
    (receipt,) = post(phone, body(member, [entry])).json()["receipts"]
    assert receipt["state"] == "refused"
    assert "record this one again" in receipt["reason"]


def test_whoever_has_left_stays_gone(client_of: ClientOf, coordinator: Member, member: Member, bay: Bay) -> None:
    text = file_of(sealed(member, load(bay, words="from Ada's own garden")))
    member.delete()
    bring(client_of(coordinator), text)
    one = Parked.objects.get()
    assert (one.person, one.device) == (None, None)
    assert "Ada" not in one.raw


@pytest.mark.usefixtures("phone")
def test_one_bad_line_holds_up_no_other_and_is_said(
    client_of: ClientOf, coordinator: Member, member: Member, bay: Bay
) -> None:
    bad = load(bay, kind="of tomorrow")
    seen = bring(
        client_of(coordinator), file_of(sealed(member, bad, load(bay), "no entry"), set_aside=[{"uid": "torn"}])
    )
    assert seen.count("✕ not taken") == 2 and seen.count("taken in") == 1
    assert "torn" in seen


@pytest.mark.parametrize(
    "text",
    ["", "no file", "[]", "{}", '{"letters": 4}', '{"letters": [4]}', '{"letters": [{"text": "{", "seal": null}]}',
     '{"letters": [{"text": "{}", "seal": null}]}', "[" * 100_000, '{"letters": [{"text": 5}]}'],
)  # fmt: skip
def test_what_is_no_such_file_is_said_to_be_none(client_of: ClientOf, coordinator: Member, text: str) -> None:
    answer = client_of(coordinator).post(HERE, {"text": text})
    assert answer.status_code == 200
    assert "Nothing came in." in answer.content.decode() or "Choose a file" in answer.content.decode()


def test_a_text_that_was_copied_comes_in_as_a_file_does(
    phone: Client, client_of: ClientOf, coordinator: Member, member: Member, bay: Bay
) -> None:
    seen = client_of(coordinator).post(HERE, {"text": file_of(sealed(member, load(bay)))}).content.decode()
    assert "taken in" in seen


def test_a_steward_may_bring_one_in_and_a_member_may_not(
    phone: Client, client_of: ClientOf, steward: Member, member: Member, bay: Bay
) -> None:
    assert "taken in" in bring(client_of(steward), file_of(sealed(member, load(bay))))
    assert client_of(member).post(HERE, {"text": file_of(sealed(member, load(bay)))}).status_code == 403


def test_no_more_is_laid_aside_in_a_day_than_somebody_can_look_at(
    client_of: ClientOf, coordinator: Member, bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("heaps.parking.MOST_A_DAY", 1)
    seen = bring(client_of(coordinator), file_of(sealed(None, load(bay)), sealed(None, load(bay))))
    assert seen.count("laid aside, to be placed") == 1
    assert "Bring the same file again tomorrow" in seen


def test_a_file_holds_so_many_letters(
    client_of: ClientOf, coordinator: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(carried, "MOST_LETTERS", 1)
    assert "Nothing came in" in bring(client_of(coordinator), file_of(sealed(None), sealed(None)))


def test_a_phone_that_came_back_empty_is_noticed(
    phone: Client, member: Member, client_of: ClientOf, coordinator: Member
) -> None:
    post(phone, body(member, [], waiting=3))
    assert phone.get("/sync/").json()["waiting"] == 3
    post(phone, body(member, [], waiting=0, device=str(uuid.UUID(int=8))))
    assert Device.objects.get(member=member).missing == 3
    assert "This phone last spoke of 3 waiting" in (seen := phone.get("/me/devices/").content.decode())
    assert "came back empty" in seen
    assert "this phone last spoke of 3 waiting" in client_of(coordinator).get("/tray/").content.decode()
    phone.post("/me/devices/", {"settled": str(Device.objects.get(member=member).uid)})
    assert "last spoke of" not in phone.get("/me/devices/").content.decode()
