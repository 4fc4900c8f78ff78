"""Tickets: they let one person in once, for a while; wrong words end the words and not the link."""

import random
import re
import secrets
import threading
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connections
from django.utils import timezone

from heaps.models import Site, Stewardship
from members import tickets
from members.models import Member, Ticket
from members.words import WORDS

pytestmark = pytest.mark.ledger  # locks and counts are the database's own

NOW = timezone.now()
SOON = NOW + timedelta(minutes=9)


@pytest.fixture
def told(coordinator: Member) -> tickets.Told:
    """An invitation for the gate."""
    return tickets.invite(coordinator, tickets.AT_THE_GATE, NOW)


def wrong(words: tuple[str, ...]) -> list[str]:
    """The first word right, the others not."""
    return [words[0], *random.Random(7).sample([word for word in WORDS if word not in words], 3)]


def test_nothing_that_lets_in_is_kept_in_the_clear(told: tickets.Told) -> None:
    row = Ticket.objects.get()
    kept = " ".join(str(value) for value in Ticket.objects.values_list().get())
    assert told.link not in kept
    assert len(told.link) >= 22  # 128 bits in base64
    assert row.first_word == told.words[0]
    assert not any(re.search(rf"\b{word}\b", row.other_words) for word in told.words[1:])
    assert row.other_words.count("$") >= 2


def test_link_and_words_lead_to_the_same_ticket(told: tickets.Told) -> None:
    assert tickets.by_link(told.link, SOON) == tickets.by_words(list(told.words), SOON) == told.ticket


def test_looking_uses_nothing_up(told: tickets.Told) -> None:
    for _look in range(20):
        assert tickets.by_link(told.link, SOON)
        assert tickets.by_words(list(told.words), SOON)
    assert Ticket.objects.values_list("tries_left", "used_at").get() == (5, None)


@pytest.mark.parametrize("lasts", [tickets.AT_THE_GATE, tickets.TO_SEND])
def test_it_ends_after_its_time(coordinator: Member, lasts: timedelta) -> None:
    told = tickets.invite(coordinator, lasts, NOW)
    for later, holds in ((lasts - timedelta(seconds=1), True), (lasts, False)):
        assert bool(tickets.by_link(told.link, NOW + later)) is holds
        assert bool(tickets.by_words(list(told.words), NOW + later)) is holds
    with pytest.raises(tickets.Over):
        tickets.join(told.ticket, "Rosa", NOW + lasts)
    assert timedelta(minutes=10) <= lasts <= timedelta(days=14)


def test_made_by_a_clock_that_is_set_back_since_it_lets_nobody_in_for_longer(told: tickets.Told) -> None:
    for back, holds in ((timedelta(seconds=59), True), (timedelta(hours=1), False), (timedelta(days=3650), False)):
        assert bool(tickets.by_link(told.link, NOW - back)) is holds
        assert bool(tickets.by_words(list(told.words), NOW - back)) is holds
    with pytest.raises(tickets.Over):
        tickets.join(told.ticket, "Rosa", NOW - timedelta(hours=1))


def test_it_works_once(told: tickets.Told) -> None:
    tickets.join(told.ticket, "Rosa", SOON)
    assert tickets.by_link(told.link, SOON) is None
    assert tickets.by_words(list(told.words), SOON) is None
    with pytest.raises(tickets.Over):
        tickets.join(told.ticket, "Other", SOON)
    assert list(Member.objects.filter(is_coordinator=False).values_list("name", flat=True)) == ["Rosa"]


def test_it_can_be_taken_back(told: tickets.Told) -> None:
    assert list(tickets.open_invitations(SOON)) == [told.ticket]
    assert tickets.take_back(told.ticket.pk, SOON)
    assert not tickets.take_back(told.ticket.pk, SOON)
    assert tickets.by_link(told.link, SOON) is None
    assert tickets.by_words(list(told.words), SOON) is None
    assert not tickets.open_invitations(SOON).exists()


def test_sign_in_words_are_no_invitation_to_take_back(member: Member) -> None:
    told = tickets.sign_in_words(member, member, NOW)
    assert not tickets.take_back(told.ticket.pk, SOON)
    assert tickets.come_in(told.ticket, SOON) == member


def test_five_wrong_tries_end_the_words_and_not_the_link(told: tickets.Told) -> None:
    for _try in range(4):
        assert tickets.by_words(wrong(told.words), SOON) is None
    assert tickets.by_words(list(told.words), SOON) == told.ticket
    assert tickets.by_words(wrong(told.words), SOON) is None
    assert tickets.by_words(list(told.words), SOON) is None
    assert tickets.by_link(told.link, SOON) == told.ticket


def test_a_thousand_random_words_never_fit(told: tickets.Told, member: Member) -> None:
    Ticket.objects.update(tries_left=2000)
    tickets.sign_in_words(member, member, NOW)
    for _guess in range(1000):
        assert tickets.by_words([secrets.choice(WORDS) for _word in range(4)], SOON) is None


def test_no_two_open_tickets_begin_with_the_same_word(coordinator: Member) -> None:
    made = [tickets.invite(coordinator, tickets.TO_SEND, NOW) for _one in range(tickets.MOST_INVITATIONS)]
    assert len({told.words[0] for told in made}) == tickets.MOST_INVITATIONS
    with pytest.raises(tickets.TooManyOpen):
        tickets.invite(coordinator, tickets.TO_SEND, NOW)
    assert tickets.sign_in_words(coordinator, coordinator, NOW)
    tickets.take_back(made[0].ticket.pk, NOW)
    assert tickets.invite(coordinator, tickets.TO_SEND, NOW)


def test_new_words_for_somebody_end_the_ones_before(member: Member, other_member: Member) -> None:
    first, others = tickets.sign_in_words(member, member, NOW), tickets.sign_in_words(other_member, None, NOW)
    second = tickets.sign_in_words(member, member, NOW)
    assert tickets.by_link(first.link, SOON) is None
    assert tickets.by_link(second.link, SOON) and tickets.by_link(others.link, SOON)


def test_a_closed_account_is_not_let_in(member: Member) -> None:
    told = tickets.sign_in_words(member, member, NOW)
    Member.objects.filter(pk=member.pk).update(is_active=False)
    assert tickets.by_link(told.link, SOON) is None
    assert tickets.by_words(list(told.words), SOON) is None


@pytest.mark.parametrize("lost", [{"is_coordinator": False}, {"is_active": False}])
def test_an_invitation_ends_with_its_maker_s_role(
    told: tickets.Told, coordinator: Member, lost: dict[str, bool]
) -> None:
    Member.objects.filter(pk=coordinator.pk).update(**lost)
    assert tickets.by_link(told.link, SOON) is None
    with pytest.raises(tickets.Over):
        tickets.join(told.ticket, "Rosa", SOON)


@pytest.mark.parametrize("role", ["is_coordinator", "is_treasurer", "is_administrator"])
def test_words_from_a_coordinator_end_when_their_person_is_given_a_role(
    coordinator: Member, member: Member, role: str
) -> None:
    told = tickets.sign_in_words(member, coordinator, NOW)
    assert tickets.by_link(told.link, SOON)
    Member.objects.filter(pk=member.pk).update(**{role: True})
    assert tickets.by_link(told.link, SOON) is None
    with pytest.raises(tickets.Over):
        tickets.come_in(told.ticket, SOON)


def test_so_do_they_with_the_role_of_one_site(coordinator: Member, member: Member, site: Site) -> None:
    told = tickets.sign_in_words(member, coordinator, NOW)
    Stewardship.objects.create(site=site, member=member)
    assert tickets.by_link(told.link, SOON) is None


def test_an_invitation_never_lets_in_as_somebody(told: tickets.Told) -> None:
    with pytest.raises(tickets.Over):
        tickets.come_in(told.ticket, SOON)
    assert tickets.by_link(told.link, SOON)  # and it is not used up by that


@pytest.mark.parametrize(
    ("name", "username"),
    [("Rosa", "rosa"), ("Ada", "ada-2"), ("Łucja Ñandú", "ucja-nandu"), ("木村", "member"), ("  --  ", "member")],
)
def test_a_sign_in_name_is_made_from_the_name(told: tickets.Told, member: Member, name: str, username: str) -> None:
    joined = tickets.join(told.ticket, name, SOON)
    assert (joined.username, joined.name, joined.has_usable_password()) == (username, name, False)
    assert not (joined.is_coordinator or joined.is_treasurer or joined.is_administrator)


def test_what_is_over_is_forgotten(told: tickets.Told, coordinator: Member, member: Member) -> None:
    lasting = tickets.invite(coordinator, tickets.TO_SEND, NOW)
    tickets.come_in(tickets.sign_in_words(member, member, NOW).ticket, NOW)
    tickets.delete_over(NOW + tickets.AT_THE_GATE)
    assert list(Ticket.objects.all()) == [lasting.ticket]


@pytest.mark.django_db(transaction=True)
def test_of_ten_at_once_exactly_one_joins(told: tickets.Told) -> None:
    answers: list[str] = []

    def join() -> None:
        try:
            answers.append(tickets.join(told.ticket, "Rosa", SOON).username)
        except tickets.Over:
            answers.append("over")
        finally:
            connections.close_all()

    run_at_once(join, 10)
    assert sorted(answers) == ["over"] * 9 + ["rosa"]
    assert Member.objects.filter(name="Rosa").count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_of_one_name_who_join_at_once_both_get_in(coordinator: Member) -> None:
    waiting = [tickets.invite(coordinator, tickets.TO_SEND, NOW).ticket for _one in range(6)]

    def join() -> None:
        try:
            tickets.join(waiting.pop(), "Rosa", SOON)
        finally:
            connections.close_all()

    run_at_once(join, 6)
    assert set(Member.objects.filter(name="Rosa").values_list("username", flat=True)) == {
        "rosa", "rosa-2", "rosa-3", "rosa-4", "rosa-5", "rosa-6",
    }  # fmt: skip


@pytest.mark.django_db(transaction=True)
def test_however_many_guess_at_once_only_five_are_compared(told: tickets.Told, monkeypatch: pytest.MonkeyPatch) -> None:
    compared: list[str] = []
    really = tickets.check_password

    def check(words: str, kept: str) -> bool:
        compared.append(kept)
        return really(words, kept)

    monkeypatch.setattr(tickets, "check_password", check)

    def guess() -> None:
        try:
            tickets.by_words(wrong(told.words), SOON)
        finally:
            connections.close_all()

    run_at_once(guess, 20)
    assert len(compared) == 20
    assert compared.count(told.ticket.other_words) == 5


def run_at_once(what: Callable[[], object], times: int) -> None:
    threads = [threading.Thread(target=what) for _one in range(times)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
