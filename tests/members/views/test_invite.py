"""Inviting: what is shown once, what stays visible, and taking back."""

import base64
import re
import urllib.parse
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from members import tickets
from members.models import Member, Ticket

ClientOf = Callable[[Member | None], Client]


@pytest.fixture
def browser(client_of: ClientOf, coordinator: Member) -> Client:
    return client_of(coordinator)


@pytest.mark.parametrize(("lasts", "how_long"), [("gate", timedelta(minutes=10)), ("send", timedelta(days=7))])
def test_an_invitation_is_shown_once_with_all_it_takes(browser: Client, lasts: str, how_long: timedelta) -> None:
    answer = browser.post("/people/invite/", {"lasts": lasts})
    page = answer.content.decode()
    ticket = Ticket.objects.get()
    assert abs(ticket.ends_at - timezone.now() - how_long) < timedelta(minutes=1)
    link = re.findall(r'value="http://testserver/join/([^/"]+)/"', page)[0]
    words = re.findall(r"<span>(\w+)</span>", page)
    assert tickets.by_link(link, timezone.now()) == tickets.by_words(words, timezone.now()) == ticket
    assert '<strong class="host">testserver</strong>' in page
    assert "Good once, for" in page
    assert '<a href="/people/invite/">Done: go back</a>' in page
    assert "no-store" in answer["Cache-Control"]
    after = browser.get("/people/invite/").content.decode()
    assert link not in after and not any(word in re.findall(r"“(\w+)”", after) for word in words[1:])
    assert f"begins with “{words[0]}”, made by Cleo" in after


def test_the_code_to_scan_is_a_large_picture_with_a_quiet_zone(browser: Client) -> None:
    page = browser.post("/people/invite/", {"lasts": "gate"}).content.decode()
    src = re.findall(r'<img class="scan" src="([^"]+)"', page)[0].replace("&#x27;", "'").replace("&amp;", "&")
    assert src.startswith("data:image/svg+xml")
    head, body = src.split(",", 1)
    svg = base64.b64decode(body).decode() if "base64" in head else urllib.parse.unquote(body)
    size = int(re.findall(r"width=['\"](\d+)", svg)[0])
    path = re.findall(r"d=['\"]M(\d+) (\d+)", svg)[-1]
    assert size >= 8 * (25 + 8)
    assert path[0] == "4"  # the first dark module stands four from the edge
    assert "style=" not in svg


def test_no_way_chosen_is_asked_for(browser: Client) -> None:
    for said in ({"lasts": "for ever"}, {"x": "y"}):
        assert "Choose one of the two ways." in browser.post("/people/invite/", said).content.decode()
    assert not Ticket.objects.exists()


def test_an_invitation_can_be_taken_back_by_another_who_may_invite(
    browser: Client, client_of: ClientOf, administrator: Member
) -> None:
    browser.post("/people/invite/", {"lasts": "send"})
    ticket = Ticket.objects.get()
    said = client_of(administrator).post("/people/invite/", {"take_back": ticket.pk}, follow=True)
    assert "Taken back." in said.content.decode() and "None is open." in said.content.decode()
    assert not tickets.open_invitations(timezone.now()).exists()


@pytest.mark.parametrize("number", ["", "0", "x", "-1", "²", "9" * 40, "1' or 1=1"])
def test_taking_back_what_is_not_open_says_so(browser: Client, number: str) -> None:
    browser.post("/people/invite/", {"lasts": "send"})
    said = browser.post("/people/invite/", {"take_back": number}, follow=True)
    assert "It was not open any more." in said.content.decode()
    assert tickets.open_invitations(timezone.now()).count() == 1


def test_nobody_s_words_are_taken_back_here(browser: Client, member: Member) -> None:
    told = tickets.sign_in_words(member, member, timezone.now())
    browser.post("/people/invite/", {"take_back": told.ticket.pk})
    assert tickets.by_link(told.link, timezone.now())


def test_too_many_open_ones_are_refused_in_words(browser: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tickets, "MOST_INVITATIONS", 1)
    browser.post("/people/invite/", {"lasts": "send"})
    assert "Too many invitations are open." in browser.post("/people/invite/", {"lasts": "send"}).content.decode()
    assert Ticket.objects.count() == 1
