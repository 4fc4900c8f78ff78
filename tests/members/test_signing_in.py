"""Signing in, signing out, and one's own password."""

from collections.abc import Callable

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from members.models import Member, Tries
from members.tickets import sign_in_words

PASSWORD = "leaves and straw"


def test_signing_in_leads_back_to_where_one_came_from(client: Client, member: Member) -> None:
    there = "/sign-in/?next=/password/"
    answer = client.post(there, {"username": "ada", "password": PASSWORD, "next": "/password/"})
    assert (answer.status_code, answer["Location"]) == (302, "/password/")
    assert client.get("/password/").status_code == 200


@pytest.mark.parametrize("elsewhere", ["https://else.test/", "//else.test/", "/\\else.test", "javascript:alert(1)"])
def test_signing_in_never_leads_to_another_address(client: Client, member: Member, elsewhere: str) -> None:
    answer = client.post("/sign-in/", {"username": "ada", "password": PASSWORD, "next": elsewhere})
    assert (answer.status_code, answer["Location"]) == (302, "/")


@pytest.mark.parametrize(("username", "password"), [("ada", "wrong"), ("nobody", PASSWORD), ("finn", PASSWORD)])
def test_every_failure_gets_the_same_answer(
    client: Client, member: Member, former_member: Member, username: str, password: str
) -> None:
    answer = client.post("/sign-in/", {"username": username, "password": password})
    assert answer.status_code == 200
    assert b"This name and password do not go together." in answer.content
    assert f'value="{username}"'.encode() in answer.content
    assert "_auth_user_id" not in client.session


def test_signing_out_needs_a_form_and_ends_the_session(
    client_of: Callable[[Member | None], Client], member: Member
) -> None:
    client = client_of(member)
    assert client.get("/sign-out/").headers["Location"] == "/", "only a sent form ends a session"
    assert client.post("/sign-out/").headers["Location"] == "/sign-out/"
    assert "You are signed out" in client.get("/sign-out/").text
    assert client.get("/password/").status_code == 302


def test_a_changed_password_ends_the_sessions_on_other_phones(
    client_of: Callable[[Member | None], Client], member: Member
) -> None:
    here, there = client_of(member), client_of(member)
    answer = here.post("/password/", {"old": PASSWORD, "new": "grass and cardboard"})
    assert answer.status_code == 302
    assert here.get("/password/").status_code == 200
    assert there.get("/password/").status_code == 302
    member.refresh_from_db()
    assert member.check_password("grass and cardboard")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("wrong", "grass and cardboard", b"This is not your password until now."),
        (PASSWORD, "short", b"at least 8 characters"),
        (PASSWORD, "password1", b"too common"),
    ],
)
def test_a_bad_change_of_password_changes_nothing(
    client_of: Callable[[Member | None], Client], member: Member, old: str, new: str, says: bytes
) -> None:
    answer = client_of(member).post("/password/", {"old": old, "new": new})
    assert answer.status_code == 200
    assert says in answer.content
    member.refresh_from_db()
    assert member.check_password(PASSWORD)


def test_a_closed_account_is_out_at_once(client_of: Callable[[Member | None], Client], member: Member) -> None:
    client = client_of(member)
    assert client.get("/password/").status_code == 200
    Member.objects.filter(pk=member.pk).update(is_active=False)
    assert client.get("/password/").status_code == 302


def test_pages_of_a_person_stay_out_of_every_cache(
    client_of: Callable[[Member | None], Client], member: Member
) -> None:
    for answer in (client_of(member).get("/password/"), client_of(None).get("/sign-in/")):
        assert "no-store" in answer["Cache-Control"]


def wrong(client: Client, username: str, **more: str) -> HttpResponse:
    answer: HttpResponse = client.post("/sign-in/", {"username": username, "password": "a guess"}, **more)
    return answer


@pytest.mark.parametrize("typed", ["Ada", "ADA", " ada "])
def test_a_sign_in_name_works_in_any_case_of_letters(client: Client, member: Member, typed: str) -> None:
    assert client.post("/sign-in/", {"username": typed, "password": PASSWORD})["Location"] == "/"
    assert client.session["_auth_user_id"] == str(member.pk)
    assert set(client.session["proved"]) == {"password"}


def test_after_twenty_wrong_passwords_the_answer_is_when_to_try_again(client: Client, member: Member) -> None:
    for typed in ("ada", "Ada") * 10:
        assert wrong(client, typed).status_code == 200
    answer = client.post("/sign-in/", {"username": "ada", "password": PASSWORD})
    assert answer.status_code == 429
    assert 3590 <= int(answer["Retry-After"]) <= 3600
    assert "Try again in 60 minutes." in answer.content.decode()
    assert "_auth_user_id" not in client.session
    told = sign_in_words(member, member, timezone.now())
    assert client.post("/words/", {"words": " ".join(told.words)})["Location"] == "/welcome/"


def test_somebody_who_hammers_a_name_does_not_lock_its_person_out(client: Client, member: Member) -> None:
    for _try in range(25):
        last = wrong(Client(), "ada", REMOTE_ADDR="192.0.2.66")
    assert last.status_code == 429
    answer = client.post("/sign-in/", {"username": "ada", "password": PASSWORD}, REMOTE_ADDR="192.0.2.1")
    assert answer.status_code == 302


def test_known_and_unknown_names_are_limited_alike(member: Member, former_member: Member) -> None:
    answers = {name: [wrong(Client(), name).status_code for _try in range(22)] for name in ("ada", "finn", "nobody")}
    assert answers["ada"] == [200] * 20 + [429] * 2
    assert answers["ada"] == answers["finn"]
    Tries.objects.all().delete()
    assert [wrong(Client(), "nobody").status_code for _try in range(22)] == answers["ada"]


def test_right_passwords_are_never_counted(client: Client, member: Member) -> None:
    for _time in range(30):
        assert client.post("/sign-in/", {"username": "ada", "password": PASSWORD}).status_code == 302
    assert set(Tries.objects.values_list("count", flat=True)) == {0}


def test_a_form_without_a_name_or_a_password_is_no_try(client: Client, member: Member) -> None:
    client.post("/sign-in/", {"username": "ada", "password": ""})
    client.post("/sign-in/", {"username": "", "password": PASSWORD})
    assert not Tries.objects.exists()


def test_whoever_joined_without_a_password_can_set_one(
    client_of: Callable[..., Client], client: Client, member: Member
) -> None:
    member.set_unusable_password()
    member.save()
    borrowed = client_of(member, proof=False)
    assert borrowed.post("/password/", {"new": "a way in of my own"}).url.startswith("/confirm/")
    member.refresh_from_db()
    assert not member.has_usable_password(), "whoever only holds the phone made a way in"
    browser = client_of(member)
    assert "Password until now" not in browser.get("/password/").content.decode()
    assert browser.post("/password/", {"new": "grass and cardboard"}).status_code == 302
    assert client.post("/sign-in/", {"username": "ada", "password": "grass and cardboard"}).status_code == 302
    assert "Password until now" in browser.get("/password/").content.decode()
    assert b"is missing" in browser.post("/password/", {"new": "wet leaves and twigs"}).content
