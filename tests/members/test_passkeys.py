"""Passkeys: made, shown with one tap, once each, by nobody else; and no broken answer does anything."""

import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from members.models import Member, Passkey, Session
from members.passkeys import ASKED_SECONDS
from tests.conftest import PASSWORD
from tests.phone_keys import Lock

pytestmark = pytest.mark.ledger  # a challenge is used up under a lock

ClientOf = Callable[..., Client]
REFUSED = "That did not work. Try once more, or come in another way."


def asked(browser: Client, where: str = "/sign-in/question/") -> dict[str, Any]:
    browser.get("/sign-in/")  # a phone has its token from the page
    question: dict[str, Any] = browser.post(where).json()
    return question


def show(browser: Client, answer: str, then: str = "") -> Any:
    return browser.post("/sign-in/" + (f"?next={then}" if then else ""), {"answer": answer})


@pytest.fixture
def lock(member: Member, client_of: ClientOf) -> Lock:
    """The lock of Ada's phone, with a passkey made in it."""
    lock, phone = Lock(), client_of(member)
    answer = lock.make(asked(phone, "/me/passkeys/question/"))
    assert phone.post("/me/passkeys/", {"answer": answer})["Location"] == "/me/passkeys/"
    return lock


def signed_in_as(browser: Client) -> int | None:
    return int(browser.session["_auth_user_id"]) if "_auth_user_id" in browser.session else None


def test_what_the_phone_is_asked(member: Member, client_of: ClientOf, lock: Lock) -> None:
    question = asked(client_of(member), "/me/passkeys/question/")
    assert question["rp"] == {"name": "Two Lanes Growers", "id": "testserver"}
    assert question["authenticatorSelection"]["residentKey"] == "required"
    assert question["authenticatorSelection"]["userVerification"] == "required"
    assert question["attestation"] == "none"
    assert len(question["excludeCredentials"]) == 1
    question = asked(Client())
    assert (question["rpId"], question["userVerification"]) == ("testserver", "required")
    assert not question.get("allowCredentials")


def test_a_passkey_signs_in_and_is_a_proof(member: Member, lock: Lock) -> None:
    browser = Client()
    answer = show(browser, lock.show(asked(browser)), then="/me/leave/")
    assert answer["Location"] == "/me/leave/"
    assert signed_in_as(browser) == member.pk
    assert browser.get("/me/leave/").status_code == 200
    key = Passkey.objects.get()
    assert key.last_used_at is not None and key.member == member
    assert browser.session.get_expiry_age() > 89 * 24 * 3600


@pytest.mark.parametrize("elsewhere", ["https://else.test/", "//else.test/", "/\\else.test", "javascript:alert(1)"])
def test_it_never_leads_to_another_address(lock: Lock, elsewhere: str) -> None:
    browser = Client()
    assert show(browser, lock.show(asked(browser)), then=elsewhere)["Location"] == "/"


def test_looking_at_the_page_leaves_nothing_behind(db: None) -> None:
    for _look in range(5):
        Client().get("/sign-in/")
    assert not Session.objects.exists()


def test_a_question_that_is_answered_late_signs_nobody_out(member: Member) -> None:
    browser, before = Client(), Client()
    browser.get("/sign-in/")
    before.cookies.update(browser.cookies)
    browser.post("/sign-in/", {"username": "ada", "password": PASSWORD})
    answer = before.post("/sign-in/question/")  # asked before, by the same phone
    assert not answer.cookies
    browser.cookies.update(answer.cookies)
    assert signed_in_as(browser) == member.pk


def test_a_question_to_a_guest_stands_for_minutes_and_opens_nothing(lock: Lock) -> None:
    browser, thief = Client(), Client()
    Session.objects.all().delete()
    asked(browser)
    left = Session.objects.get()
    assert left.expire_date - timezone.now() <= timedelta(seconds=ASKED_SECONDS)
    thief.cookies["session"] = left.session_key
    assert thief.get("/sync/").json()["person"] is None


def make_late() -> None:
    Session.objects.filter(device=None).update(expire_date=timezone.now() - timedelta(seconds=1))


def count_went_back(lock: Lock) -> None:
    Passkey.objects.update(sign_count=7)
    lock.count = 7


#: Each spoils the lock, the question, or what the server knows.
WRONG: dict[str, Callable[[Lock, dict[str, Any], Client], object]] = {
    "another challenge": lambda lock, question, browser: question.update(asked(Client())),
    "another address": lambda lock, question, browser: setattr(lock, "origin", "https://else.test"),
    "another host's key": lambda lock, question, browser: setattr(lock, "host", "else.test"),
    "lock not opened": lambda lock, question, browser: setattr(lock, "opens", False),
    "unknown key": lambda lock, question, browser: setattr(lock, "number", b"another one here"),
    "another's secret": lambda lock, question, browser: setattr(lock, "key", Lock().key),
    "another's number": lambda lock, question, browser: setattr(
        lock, "handle", Member.objects.get(name="Bela").uid.bytes
    ),
    "no number": lambda lock, question, browser: setattr(lock, "handle", b""),
    "account closed": lambda lock, question, browser: Member.objects.update(is_active=False),
    "count went back": lambda lock, question, browser: count_went_back(lock),
    "too late": lambda lock, question, browser: make_late(),
}


@pytest.mark.parametrize("how", WRONG)
def test_every_wrong_answer_gets_the_same_refusal(lock: Lock, how: str, other_member: Member) -> None:
    browser = Client()
    question = asked(browser)
    WRONG[how](lock, question, browser)
    answer = show(browser, lock.show(question))
    assert answer.status_code == 200
    assert REFUSED in answer.content.decode()
    assert signed_in_as(browser) is None
    assert Passkey.objects.get().last_used_at is None


def test_an_answer_counts_once(lock: Lock) -> None:
    browser, another = Client(), Client()
    answer = lock.show(asked(browser))
    another.cookies = browser.cookies.copy()
    assert show(browser, answer).status_code == 302
    assert REFUSED in show(another, answer).content.decode()
    browser.post("/sign-out/")
    assert REFUSED in show(browser, answer).content.decode()


def test_a_question_is_used_up_by_a_wrong_answer_too(lock: Lock) -> None:
    browser = Client()
    right = lock.show(question := asked(browser))
    lock.opens = False
    show(browser, lock.show(question))
    assert REFUSED in show(browser, right).content.decode()


def test_pages_open_side_by_side_do_not_disturb_each_other(lock: Lock, member: Member) -> None:
    browser = Client()
    first = lock.show(asked(browser))
    for _page in range(4):
        asked(browser)
    assert show(browser, first).status_code == 302


def test_a_count_that_rises_is_kept(lock: Lock) -> None:
    browser = Client()
    lock.count = 3
    assert show(browser, lock.show(asked(browser))).status_code == 302
    assert Passkey.objects.get().sign_count == 3


@pytest.mark.parametrize(
    "nonsense",
    ["", "{}", "[]", "null", "[" * 19_000, "x" * 30_000, '{"id": 1}', '{"id": "\\ud800", "rawId": "a", "type": "x"}'],
)
def test_nonsense_is_refused_kindly(lock: Lock, client_of: ClientOf, member: Member, nonsense: str) -> None:
    browser = Client()
    asked(browser)
    assert REFUSED in show(browser, nonsense).content.decode()
    phone = client_of(member)
    asked(phone, "/me/passkeys/question/")
    assert "nothing is kept" in phone.post("/me/passkeys/", {"answer": nonsense}).content.decode()
    assert Passkey.objects.count() == 1


def test_a_damaged_answer_is_refused_kindly(lock: Lock) -> None:
    browser = Client()
    whole = json.loads(lock.show(asked(browser)))
    for name in whole["response"]:
        for damaged in ("", "AAAA", whole["response"][name][:-6], "%%%", 5, None):
            said = {**whole, "response": {**whole["response"], name: damaged}}
            if (name, damaged) != ("userHandle", None):
                assert REFUSED in show(browser, json.dumps(said)).content.decode()
    assert signed_in_as(browser) is None


def test_a_key_that_is_somebody_s_already_is_not_kept_again(
    lock: Lock, client_of: ClientOf, other_member: Member, member: Member
) -> None:
    phone = client_of(other_member)
    answer = lock.make(asked(phone, "/me/passkeys/question/"))
    assert "nothing is kept" in phone.post("/me/passkeys/", {"answer": answer}).content.decode()
    assert Passkey.objects.get().member == member


def test_without_its_lock_opened_no_passkey_is_made(client_of: ClientOf, member: Member) -> None:
    phone = client_of(member)
    phone.post("/me/passkeys/", {"answer": Lock(opens=False).make(asked(phone, "/me/passkeys/question/"))})
    assert not Passkey.objects.exists()


def test_a_passkey_taken_away_opens_nothing(
    lock: Lock, client_of: ClientOf, member: Member, other_member: Member
) -> None:
    number = Passkey.objects.get().pk
    for stranger in (client_of(other_member), client_of(member)):
        assert stranger.post("/me/passkeys/", {"take_away": "x"}).status_code == 404
    assert client_of(other_member).post("/me/passkeys/", {"take_away": number}).status_code == 404
    assert client_of(member).post("/me/passkeys/", {"take_away": number})["Location"] == "/me/passkeys/"
    browser = Client()
    assert REFUSED in show(browser, lock.show(asked(browser))).content.decode()


def test_it_goes_with_its_person(lock: Lock, client_of: ClientOf, member: Member) -> None:
    file = client_of(member).get("/me/everything.json").getvalue()
    assert len(json.loads(file)["passkeys"]) == 1
    client_of(member).post("/me/leave/")
    assert not Passkey.objects.exists()


def test_somebody_with_a_role_shows_who_they_are_before_a_new_passkey(client_of: ClientOf, treasurer: Member) -> None:
    phone = client_of(treasurer, proof=False)
    assert phone.get("/me/passkeys/")["Location"] == "/confirm/?next=%2Fme%2Fpasskeys%2F"
    assert phone.post("/me/passkeys/question/").status_code == 302


def test_a_number_longer_than_any_key_has_is_refused_kindly(client_of: ClientOf, member: Member) -> None:
    phone = client_of(member)
    answer = Lock(number=b"n" * 1_100).make(asked(phone, "/me/passkeys/question/"))
    assert "nothing is kept" in phone.post("/me/passkeys/", {"answer": answer}).content.decode()
    assert not Passkey.objects.exists()


@pytest.mark.parametrize("number", ["", "x", "-1", "9" * 30, "9" * 5000, "\u0663"])
def test_to_take_away_what_is_no_passkey_is_not_found(client_of: ClientOf, member: Member, number: str) -> None:
    assert client_of(member).post("/me/passkeys/", {"take_away": number}).status_code == 404
