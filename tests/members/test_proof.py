"""Showing once more who one is: by passkey, words or password, each where it counts, and not for long."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from members import tickets
from members.models import Member
from tests.conftest import PASSWORD, prove
from tests.members.views.test_new_phone import words_on
from tests.phone_keys import Lock

pytestmark = pytest.mark.ledger

ClientOf = Callable[..., Client]
YEAR = "/year/2026/"
CSV = f"{YEAR}came-and-went.csv"
ADD = {"name": "Rosa", "username": "rosa.m", "password": "grass and cardboard", "is_coordinator": "on"}


@pytest.fixture
def phone(client_of: ClientOf, administrator: Member) -> Client:
    """An administrator's, who has not shown anything lately."""
    return client_of(administrator, proof=False)


def test_the_way_there_and_back_by_passkey(client_of: ClientOf, administrator: Member, phone: Client) -> None:
    lock, here = Lock(), client_of(administrator)
    here.post("/me/passkeys/", {"answer": lock.make(here.post("/me/passkeys/question/").json())})
    where = "/set-up/people/add/"
    assert "Show it with this phone" in phone.get(phone.get(where)["Location"]).content.decode()
    question = phone.post("/confirm/question/").json()
    assert len(question["allowCredentials"]) == 1
    assert phone.post("/confirm/", {"answer": lock.show(question), "next": where})["Location"] == where
    assert phone.get(CSV).status_code == 200


def test_another_s_passkey_shows_nothing(
    client_of: ClientOf, administrator: Member, other_member: Member, phone: Client
) -> None:
    lock, bela = Lock(), client_of(other_member)
    bela.post("/me/passkeys/", {"answer": lock.make(bela.post("/me/passkeys/question/").json())})
    answer = phone.post("/confirm/", {"answer": lock.show(phone.post("/confirm/question/").json())})
    assert "That did not work." in answer.content.decode()
    question = phone.post("/sign-in/question/").json()  # nor one that was asked for at sign-in
    assert "That did not work." in phone.post("/confirm/", {"answer": lock.show(question)}).content.decode()
    assert phone.get(CSV).status_code == 302


@pytest.mark.parametrize(("ago", "status"), [(0, 200), (-30, 200), (-3600, 302), (16 * 60, 302)])
def test_a_proof_from_a_clock_that_is_set_back_since_holds_no_longer_than_another(
    phone: Client, ago: int, status: int
) -> None:
    prove(phone, ago=ago)
    assert phone.get(CSV).status_code == status


def words_for(person: Member) -> str:
    return " ".join(tickets.sign_in_words(person, person, timezone.now()).words)


def test_words_are_a_proof_once(administrator: Member, phone: Client) -> None:
    said = {"words": words_for(administrator), "next": CSV}
    assert phone.post("/confirm/", said)["Location"] == YEAR
    assert phone.get(CSV).status_code == 200
    assert "do not let anybody in" in phone.post("/confirm/", said).content.decode()


def test_before_a_file_the_way_leads_back_to_where_it_is_offered(administrator: Member, phone: Client) -> None:
    """A file leaves the page that led to it standing: the form, with the words in it, looked like a refusal."""
    for file, page in ((CSV, YEAR), ("/me/everything.json", "/me/")):
        asked = phone.get(file)["Location"]
        assert f'name="next" value="{file}"' in phone.get(asked).content.decode()
        answer = phone.post("/confirm/", {"words": words_for(administrator), "next": file}, follow=True)
        assert answer.redirect_chain == [(page, 302)]
        told = answer.content.decode()
        assert "It is you. Ask for the file once more, and it comes." in told and f'href="{file}"' in told
        assert "attachment" in phone.get(file)["Content-Disposition"]
        prove(phone, "nothing")


def test_another_s_words_show_nothing_and_stay_good(phone: Client, member: Member) -> None:
    words = words_for(member)
    assert "do not let anybody in" in phone.post("/confirm/", {"words": words}).content.decode()
    assert phone.get(CSV).status_code == 302
    assert tickets.by_words(words.split(), timezone.now()) is not None


def test_wrong_words_are_counted_as_everywhere(phone: Client) -> None:
    words = " ".join(tickets.WORDS[:4])
    answers = [phone.post("/confirm/", {"words": words}).status_code for _try in range(25)]
    assert answers[0] == 200 and answers[-1] == 429


def test_a_password_counts_only_where_it_will_do(phone: Client, client_of: ClientOf, member: Member) -> None:
    page = phone.get("/confirm/?next=" + CSV).content.decode()
    assert "Show it with my password" not in page and "A password alone is not enough here." in page
    sent: dict[str, Any] = {"password": PASSWORD, "next": CSV}
    assert "Choose one of the ways below." in phone.post("/confirm/", sent).content.decode()
    phone.post("/confirm/", sent | {"password_will_do": "1"})  # whatever is sent, the page decides
    assert phone.get(CSV)["Location"].startswith("/confirm/")
    ada = client_of(member, proof=False)
    where = ada.get("/me/everything.json")["Location"]
    assert "Show it with my password" in ada.get(where).content.decode()
    sent = {"next": "/me/everything.json", "password_will_do": "1"}
    assert "This is not your password." in ada.post("/confirm/", sent | {"password": "a guess"}).content.decode()
    assert ada.post("/confirm/", sent | {"password": PASSWORD})["Location"] == "/me/"
    assert ada.get("/me/everything.json").status_code == 200


def test_signing_in_by_password_is_one_s_own_proof_only(client: Client, administrator: Member) -> None:
    client.post("/sign-in/", {"username": "edda", "password": PASSWORD})
    assert client.get("/me/everything.json").status_code == 200
    assert client.get("/set-up/people/add/").status_code == 302


@pytest.mark.parametrize(("minutes", "opens", "takes"), [(9, True, True), (11, False, True), (16, False, False)])
def test_a_form_opens_while_there_is_time_left_to_fill_it_in(
    phone: Client, minutes: int, opens: bool, takes: bool
) -> None:
    prove(phone, ago=minutes * 60)
    assert (phone.get("/set-up/people/add/").status_code == 200) is opens
    phone.post("/set-up/people/add/", ADD)
    assert Member.objects.filter(username="rosa.m").exists() is takes


def test_a_form_sent_too_late_comes_back_as_it_was_filled_in(phone: Client, administrator: Member) -> None:
    page = phone.post("/set-up/people/add/", ADD).content.decode()
    assert "Nothing is kept yet" in page and 'href="/confirm/" target="_blank"' in page
    assert 'value="Rosa"' in page and 'value="rosa.m"' in page and "checked" in page
    prove(phone)
    assert "You have shown that it is you." in phone.get("/confirm/").content.decode()
    assert phone.post("/set-up/people/add/", ADD).status_code == 302


def test_an_account_is_not_closed_too_late_either(phone: Client, member: Member) -> None:
    page = phone.post(f"/set-up/people/{member.uid}/", {"account": "close"}).content.decode()
    assert "Nothing is kept yet" in page and 'value="Ada"' in page
    member.refresh_from_db()
    assert member.is_active


def test_words_for_somebody_with_a_role_want_more_than_a_password(
    phone: Client, treasurer: Member, member: Member
) -> None:
    prove(phone, by="password")
    assert phone.get(f"/people/{member.uid}/new-phone/").status_code == 200
    assert phone.get(f"/people/{treasurer.uid}/new-phone/")["Location"].startswith("/confirm/")


def test_nobody_is_led_elsewhere(phone: Client, administrator: Member) -> None:
    for elsewhere in ("https://else.test/", "//else.test/", "javascript:alert(1)"):
        said = {"words": words_for(administrator), "next": elsewhere}
        assert phone.post("/confirm/", said)["Location"] == "/confirm/"


def test_passwords_are_not_guessed_on_a_phone_that_is_signed_in(client_of: ClientOf, member: Member) -> None:
    ada = client_of(member, proof=False)
    sent = {"password_will_do": "1", "next": "/me/everything.json"}
    answers = [ada.post("/confirm/", sent | {"password": f"guess {number}"}).status_code for number in range(11)]
    changes = [ada.post("/password/", {"old": f"more {number}", "new": "wet leaves and twigs"}) for number in range(11)]
    assert answers == [200] * 11 and [one.status_code for one in changes] == [200] * 9 + [429] * 2  # counted together
    assert ada.post("/confirm/", sent | {"password": PASSWORD}).status_code == 429
    assert ada.get("/me/everything.json").status_code == 302


def test_one_s_own_password_is_never_counted_against_one(client_of: ClientOf, member: Member) -> None:
    ada = client_of(member, proof=False)
    for _time in range(25):
        assert ada.post("/confirm/", {"password_will_do": "1", "password": PASSWORD}).status_code == 302
        assert ada.post("/password/", {"old": PASSWORD, "new": "short"}).status_code == 200


def test_own_words_are_a_proof_only_when_they_were_made_with_one(client_of: ClientOf, member: Member) -> None:
    """Whoever picks up an unlocked phone could make some on it, and leave in its owner's name."""
    unproved, proved = client_of(member, proof=False), client_of(member)
    own = " ".join(words_on(unproved.post("/me/another-phone/", {"x": "y"}).content))
    typed = unproved.post("/confirm/", {"words": own})
    assert "do not show that it is you" in typed.content.decode()
    second = Client()
    assert second.post("/words/", {"words": own})["Location"] == "/welcome/"
    assert second.get("/me/everything.json")["Location"].startswith("/confirm/")
    third, words = Client(), words_on(proved.post("/me/another-phone/", {"x": "y"}).content)
    third.post("/words/", {"words": " ".join(words)})
    assert third.get("/me/everything.json").status_code == 200
