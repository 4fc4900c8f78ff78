"""Joining and coming in by a link or by words: what uses a ticket up, what does not, and what is said."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from members import limits, tickets
from members.models import Device, Member, Session, Ticket, Tries
from members.words import WORDS

ClientOf = Callable[[Member | None], Client]
CRAWLERS = (
    "Mozilla/5.0 (compatible; LinkPreview/1.0)",
    "mail-scanner/2.1 (+safe links)",
    "ChatPreviewBot/3",
    "Mozilla/5.0 (Windows NT 10.0; Win64; x64) scanner",
    "curl/8.5",
)


@pytest.fixture
def told(coordinator: Member) -> tickets.Told:
    """An invitation."""
    return tickets.invite(coordinator, tickets.AT_THE_GATE, timezone.now())


@pytest.fixture
def way_in(member: Member) -> tickets.Told:
    """Ada's way in on another phone."""
    return tickets.sign_in_words(member, member, timezone.now())


def type_words(browser: Client, words: tuple[str, ...] | list[str], **more: str) -> str:
    """What the page answers to typed words; an empty answer is the way in."""
    answer = browser.post("/words/", {"words": " ".join(words), **more})
    return "" if answer.status_code == 302 else answer.content.decode()


def who(browser: Client) -> str:
    """Who is signed in."""
    key = browser.session.get("_auth_user_id")
    return Member.objects.get(pk=key).name if key else ""


def test_a_newcomer_joins_by_the_link(client: Client, told: tickets.Told) -> None:
    page = client.get(f"/join/{told.link}/").content.decode()
    assert "Join Two Lanes Growers" in page and "What shall we call you?" in page
    assert "error" not in page
    answer = client.post(f"/join/{told.link}/", {"name": "Rosa"})
    assert (answer.status_code, answer["Location"]) == (302, "/welcome/")
    rosa = Member.objects.get(username="rosa")
    assert not rosa.has_usable_password()
    assert not (rosa.is_coordinator or rosa.is_treasurer or rosa.is_administrator)
    assert set(client.session["proved"]) == {"words"}
    assert abs(client.session["proved"]["words"] - timezone.now().timestamp()) < 60
    welcome = client.get("/welcome/").content.decode()
    assert "Welcome, Rosa" in welcome and "<strong>rosa</strong>" in welcome


def test_no_further_field_can_be_set_by_joining(client: Client, told: tickets.Told) -> None:
    extra = {"is_administrator": "on", "is_coordinator": "on", "username": "edda", "password": "x", "uid": "1"}
    client.post(f"/join/{told.link}/", {"name": "Rosa", **extra})
    rosa = Member.objects.get(username="rosa")
    assert not (rosa.is_coordinator or rosa.is_administrator or rosa.has_usable_password())


@pytest.mark.parametrize("name", ["", "   ", "R" * 61])
def test_a_name_that_will_not_do_is_asked_for_again(client: Client, told: tickets.Told, name: str) -> None:
    page = client.post(f"/join/{told.link}/", {"name": name}).content.decode()
    assert "Your name" in page and 'role="alert"' in page
    assert tickets.by_link(told.link, timezone.now())
    assert who(client) == ""


def test_scanners_and_previews_use_nothing_up(told: tickets.Told, way_in: tickets.Told) -> None:
    Session.objects.all().delete()
    for place in range(100):
        browser = Client(headers={"user-agent": CRAWLERS[place % 5]})
        for where in (f"/join/{told.link}/", f"/come-in/{way_in.link}/"):
            assert (browser.head if place % 2 else browser.get)(where).status_code == 200
    assert Session.objects.count() == Device.objects.count() == Tries.objects.count() == 0
    assert Client().post(f"/join/{told.link}/", {"name": "Rosa"}).status_code == 302
    assert Client().post(f"/come-in/{way_in.link}/").status_code == 302


def test_a_member_comes_in_on_another_phone_by_the_link(client: Client, way_in: tickets.Told) -> None:
    page = client.get(f"/come-in/{way_in.link}/").content.decode()
    assert "Ada" not in page and "ada" not in page.replace("adapt", "")
    assert client.post(f"/come-in/{way_in.link}/")["Location"] == "/welcome/"
    assert who(client) == "Ada"
    assert set(client.session["proved"]) == {"words"}


def test_each_link_is_good_on_its_own_page_only(client: Client, told: tickets.Told, way_in: tickets.Told) -> None:
    assert client.post(f"/come-in/{told.link}/").status_code == 404
    assert client.post(f"/join/{way_in.link}/", {"name": "Rosa"}).status_code == 404
    assert tickets.by_link(told.link, timezone.now()) and tickets.by_link(way_in.link, timezone.now())


def test_used_ended_taken_back_and_unknown_get_one_answer(client: Client, coordinator: Member) -> None:
    now = timezone.now()
    used, ended, taken_back = (tickets.invite(coordinator, tickets.AT_THE_GATE, now) for _one in range(3))
    Client().post(f"/join/{used.link}/", {"name": "Rosa"})
    Ticket.objects.filter(pk=ended.ticket.pk).update(ends_at=now)
    tickets.take_back(taken_back.ticket.pk, now)
    links = [used.link, ended.link, taken_back.link, "A" * 32, "x"]
    answers = [ask(f"/join/{link}/", {"name": "Eve"}) for link in links for ask in (client.get, client.post)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    assert b"This link lets nobody in" in answers[0].content
    assert Member.objects.filter(name="Eve").count() == 0


def test_who_is_signed_in_goes_on_from_an_old_link(client_of: ClientOf, other_member: Member) -> None:
    answer = client_of(other_member).get(f"/join/{'A' * 32}/").content.decode()
    assert "Go on as Bela" in answer and "I was given words" not in answer


def test_forwarded_to_somebody_who_is_signed_in_it_changes_nothing(
    client_of: ClientOf, told: tickets.Told, way_in: tickets.Told, other_member: Member
) -> None:
    browser = client_of(other_member)
    for where in (f"/join/{told.link}/", f"/come-in/{way_in.link}/", "/words/"):
        for answer in (browser.get(where), browser.post(where, {"name": "Eve", "words": " ".join(told.words)})):
            assert "Bela is signed in here" in answer.content.decode()
            assert f'name="next" value="{where}"' in answer.content.decode()
    assert who(browser) == "Bela"
    assert Ticket.objects.filter(used_at=None, tries_left=5).count() == 2
    assert browser.post("/sign-out/", {"next": f"/join/{told.link}/"})["Location"] == f"/join/{told.link}/"
    assert browser.post(f"/join/{told.link}/", {"name": "Eve"}).status_code == 302


def test_a_newcomer_joins_by_words_and_the_name_comes_next(client: Client, told: tickets.Told) -> None:
    asked = type_words(client, told.words)
    assert "What shall we call you?" in asked and f'value="{" ".join(told.words)}"' in asked
    assert 'role="alert"' not in asked
    assert tickets.by_link(told.link, timezone.now())
    assert 'role="alert"' in type_words(client, told.words, name=" ")
    assert type_words(client, told.words, name="Rosa") == ""
    assert who(client) == "Rosa"


def test_a_member_comes_in_by_words_at_once(client: Client, way_in: tickets.Told) -> None:
    assert client.get("/words/").status_code == 200
    answer = client.post("/words/", {"words": "-".join(way_in.words).upper()})
    assert answer["Location"] == "/welcome/"
    assert who(client) == "Ada"
    assert type_words(Client(), way_in.words) != ""


def test_a_word_that_is_not_ours_is_no_try(client: Client, told: tickets.Told) -> None:
    for _try in range(30):
        page = type_words(client, ["tigre", *told.words[1:]])
    assert "tigre is not one of our words. Did you mean tiger?" in page
    assert "There are four words. You typed 3." in type_words(client, told.words[:3])
    assert "There are four words. You typed 5." in type_words(client, [*told.words, "apple"])
    assert "Type the four words that you were given." in type_words(client, [])
    assert "That is too long for four words." in type_words(client, ["apple"] * 60)
    assert f'value="tigre {" ".join(told.words[1:])}"' in page
    assert Ticket.objects.values_list("tries_left", flat=True).get() == 5
    assert not Tries.objects.exists()


def test_wrong_words_get_one_answer_whatever_is_wrong(told: tickets.Told) -> None:
    others = [word for word in WORDS if word not in told.words][:4]
    half_right, unknown = [told.words[0], *others[1:]], others
    answers = [type_words(Client(), words).replace(" ".join(words), "") for words in (half_right, unknown)]
    for _try in range(4):
        type_words(Client(), half_right)
    answers.append(type_words(Client(), told.words).replace(" ".join(told.words), ""))  # five tries are over
    assert "These words do not let anybody in." in answers[0]
    assert len({without_token(answer) for answer in answers}) == 1
    assert Client().post(f"/join/{told.link}/", {"name": "Rosa"}).status_code == 302


def without_token(page: str) -> str:
    return "".join(line for line in page.splitlines() if "csrfmiddlewaretoken" not in line)


def test_twenty_wrong_tries_from_one_address_and_no_more_for_an_hour(told: tickets.Told, way_in: tickets.Told) -> None:
    others = [word for word in WORDS if word not in (*told.words, *way_in.words)][:4]
    for _try in range(limits.WRONG_WORDS):
        assert "do not let anybody in" in type_words(Client(), others)
    answer = Client().post("/words/", {"words": " ".join(told.words)})
    assert answer.status_code == 429
    assert 3590 <= int(answer["Retry-After"]) <= 3600
    assert "Try again in 60 minutes." in answer.content.decode()
    assert Client().get("/words/").status_code == 200
    elsewhere = Client(REMOTE_ADDR="192.0.2.7")
    assert type_words(elsewhere, way_in.words) == ""
    assert Client().post(f"/join/{told.link}/", {"name": "Rosa"}).status_code == 302  # a right link always works


def test_a_link_that_lets_nobody_in_counts_as_no_try(client: Client, told: tickets.Told) -> None:
    """A picture on somebody else's page could ask for twenty of them and shut the words for everybody here."""
    Ticket.objects.update(ends_at=timezone.now() - timedelta(days=1))
    for place in range(30):
        assert client.get(f"/join/{told.link}/").status_code == 404
        assert client.get(f"/join/{'y' * 30}{place}/").status_code == 404
    assert not Tries.objects.exists()


def test_a_page_with_a_link_in_its_address_is_kept_and_told_nowhere(
    client: Client, told: tickets.Told, way_in: tickets.Told
) -> None:
    for where in (f"/join/{told.link}/", f"/come-in/{way_in.link}/", "/join/unknown/"):
        for answer in (client.get(where), client.head(where), client.post(where, {"name": " "})):
            assert "no-store" in answer["Cache-Control"]
            assert answer["Referrer-Policy"] == "strict-origin"


def test_a_form_needs_its_own_token(told: tickets.Told, way_in: tickets.Told) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(f"/join/{told.link}/", {"name": "Rosa"}).status_code == 403
    assert strict.post(f"/come-in/{way_in.link}/").status_code == 403
    assert strict.post("/words/", {"words": " ".join(way_in.words)}).status_code == 403
    assert Ticket.objects.filter(used_at=None).count() == 2
