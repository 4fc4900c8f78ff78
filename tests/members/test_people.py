"""The register of people: roles, closed accounts, lost passwords, and the last administrator."""

from collections.abc import Callable

import pytest
from django.test import Client

from members.models import Cooperative, Member

pytestmark = pytest.mark.ledger  # locks and searches in JSON are the database's own

ROSA = {"name": "Rosa", "username": "rosa.m", "password": "grass and cardboard", "is_coordinator": "on"}


@pytest.fixture
def browser(client_of: Callable[[Member | None], Client], administrator: Member) -> Client:
    return client_of(administrator)


def test_someone_new_can_sign_in_with_the_first_password(browser: Client, client: Client) -> None:
    assert browser.post("/set-up/people/add/", ROSA)["Location"] == "/set-up/people/"
    rosa = Member.objects.get(username="rosa.m")
    assert (rosa.is_coordinator, rosa.is_treasurer, rosa.is_administrator) == (True, False, False)
    answer = client.post("/sign-in/", {"username": "rosa.m", "password": ROSA["password"]})
    assert answer.status_code == 302


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"username": "Rosa M"}, "A sign-in name has only small letters, digits, dots and dashes, like rosa.m"),
        ({"username": "edda"}, "Somebody already signs in with this name. Choose another."),
        ({"username": ""}, "Sign-in name is missing. Type it, like rosa.m."),
        ({"name": "R" * 61}, "Name must be at most 60 characters long."),
        ({"password": "short"}, "at least 8 characters"),
    ],
)
def test_a_wrong_form_says_what_to_type_and_keeps_what_was_typed(
    browser: Client, wrong: dict[str, str], says: str
) -> None:
    said = {**ROSA, **wrong}
    page = browser.post("/set-up/people/add/", said).content.decode()
    field = next(iter(wrong))
    assert says in page
    assert f'<a href="#id_{field}">' in page
    assert 'aria-invalid="true"' in page
    if field != "password":
        assert f'value="{said[field]}"' in page or not said[field]
    assert Member.objects.count() == 1


def test_no_other_field_can_be_set_through_the_form(browser: Client, member: Member) -> None:
    before = Member.objects.values().get(pk=member.pk)
    extra = {"uid": "11111111-1111-4111-8111-111111111111", "is_active": "", "password": "x", "joined_at": "2000-01-01"}
    browser.post(f"/set-up/people/{member.uid}/", {"name": "Ada", "username": "ada", **extra})
    assert Member.objects.values().get(pk=member.pk) == before


def test_a_closed_account_can_be_opened_again(browser: Client, member: Member) -> None:
    for account, active in (("close", False), ("open", True)):
        assert browser.post(f"/set-up/people/{member.uid}/", {"account": account}).status_code == 302
        member.refresh_from_db()
        assert member.is_active is active


@pytest.mark.parametrize("said", [{"account": "close"}, {"name": "Edda", "username": "edda"}])
def test_the_last_administrator_stays(browser: Client, administrator: Member, said: dict[str, str]) -> None:
    answer = browser.post(f"/set-up/people/{administrator.uid}/", said)
    assert "This is the only administrator." in answer.content.decode()
    administrator.refresh_from_db()
    assert administrator.is_active
    assert administrator.is_administrator


@pytest.mark.parametrize("said", [{"account": "close"}, {"name": "Edda", "username": "edda"}])
def test_one_of_two_administrators_may_go(
    browser: Client, administrator: Member, member: Member, said: dict[str, str]
) -> None:
    Member.objects.filter(pk=member.pk).update(is_administrator=True)
    assert browser.post(f"/set-up/people/{administrator.uid}/", said).status_code == 302
    administrator.refresh_from_db()
    assert not (administrator.is_active and administrator.is_administrator)


def test_a_closed_administrator_does_not_count(browser: Client, administrator: Member, member: Member) -> None:
    Member.objects.filter(pk=member.pk).update(is_administrator=True, is_active=False)
    browser.post(f"/set-up/people/{administrator.uid}/", {"account": "close"})
    administrator.refresh_from_db()
    assert administrator.is_active


def test_a_lost_password_is_replaced(
    browser: Client, client_of: Callable[[Member | None], Client], member: Member
) -> None:
    phone = client_of(member)
    answer = browser.post(f"/set-up/people/{member.uid}/password/", {"new": "grass and cardboard"})
    assert answer.status_code == 302
    member.refresh_from_db()
    assert member.check_password("grass and cardboard")
    assert phone.get("/password/").status_code == 302


def test_the_cooperative_s_facts_can_be_changed(browser: Client, cooperative: Cooperative) -> None:
    said = {"name": "Three Lanes", "bag_litres": "30", "year_starts_in_month": "4", "keep_names_months": "36"}
    assert browser.post("/set-up/cooperative/", said).status_code == 302
    cooperative.refresh_from_db()
    assert (cooperative.name, cooperative.bag_litres, cooperative.year_starts_in_month) == ("Three Lanes", 30, 4)
    assert cooperative.keep_names_months == 36
    page = browser.post("/set-up/cooperative/", {**said, "keep_names_months": "2"}).content.decode()
    assert "How long names stay on entries must be from 3 to 120 months." in page
    page = browser.post("/set-up/cooperative/", {**said, "bag_litres": "lots"}).content.decode()
    assert "Size of a bag of compost must be a whole number of litres, like 40." in page
    assert 'value="lots"' in page


def test_what_was_signed_in_before_an_account_was_closed_stays_out(browser: Client, member: Member) -> None:
    lost = Client()
    lost.force_login(member)
    for account in ("close", "open"):
        browser.post(f"/set-up/people/{member.uid}/", {"account": account})
    assert lost.get("/me/devices/").status_code == 302
    assert not member.devices.filter(ended_at=None).exists()
