"""Signing in, signing out, and one's own password."""

from collections.abc import Callable

import pytest
from django.test import Client

from members.models import Member

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
    assert client.get("/sign-out/").status_code == 405
    assert client.post("/sign-out/").status_code == 200
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
