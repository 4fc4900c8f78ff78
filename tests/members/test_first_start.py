"""The first start: a link that names the cooperative and its first administrator, once."""

import threading
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connections
from django.test import Client
from django.utils import timezone

from members.models import Cooperative, Member
from members.views.first_start import FIRST_START_SECONDS

SAID = {"cooperative": "Two Lanes Growers", "name": "Edda", "username": "edda", "password": "leaves and straw"}


def printed_link(*arguments: str) -> str:
    """What `manage.py set_up_link` prints."""
    out = StringIO()
    call_command("set_up_link", *arguments, stdout=out)
    return out.getvalue().strip()


@pytest.fixture
def path(db: None) -> str:
    return printed_link("--address", "https://heaps.example.org/").removeprefix("https://heaps.example.org")


def test_the_link_makes_the_first_administrator_and_signs_in(client: Client, path: str) -> None:
    assert client.get(path).status_code == 200
    assert client.post(path, SAID)["Location"] == "/set-up/"
    edda = Member.objects.get()
    assert (edda.username, edda.is_administrator, edda.check_password(SAID["password"])) == ("edda", True, True)
    assert Cooperative.objects.get().name == "Two Lanes Growers"
    assert client.session["_auth_user_id"] == str(edda.pk)
    assert set(client.session["proved"]) == {"words"}


def test_opening_the_link_uses_nothing_up(client: Client, path: str) -> None:
    for _visit in range(3):
        assert client.get(path).status_code == 200
    assert not Member.objects.exists()


def test_the_link_works_once(client: Client, path: str) -> None:
    client.post(path, SAID)
    again = Client()
    assert again.get(path).status_code == 404
    assert again.post(path, {**SAID, "username": "other"}).status_code == 404
    assert Member.objects.count() == 1


def test_the_link_works_for_an_hour(client: Client, path: str, monkeypatch: pytest.MonkeyPatch) -> None:
    now = timezone.now().timestamp()
    monkeypatch.setattr("django.core.signing.time.time", lambda: now + FIRST_START_SECONDS - 60)
    assert client.get(path).status_code == 200
    monkeypatch.setattr("django.core.signing.time.time", lambda: now + FIRST_START_SECONDS + 60)
    assert client.get(path).status_code == 404


@pytest.mark.parametrize("code", ["first", "first:1:1", "second:1vNk1x:abc"])
def test_a_made_up_link_does_not_work(client: Client, db: None, code: str) -> None:
    assert client.post(f"/set-up/first/{code}/", SAID).status_code == 404
    assert not Member.objects.exists()


def test_a_cooperative_that_has_lost_its_administrators_can_begin_again(
    client: Client, path: str, cooperative: Cooperative, former_member: Member
) -> None:
    assert client.post(path, {**SAID, "username": "finn"}).status_code == 200
    assert client.post(path, SAID).status_code == 302
    assert Cooperative.objects.count() == 1


def test_with_an_administrator_no_link_is_printed(administrator: Member) -> None:
    with pytest.raises(CommandError, match="There is an administrator already"):
        printed_link()


@pytest.mark.ledger
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("named_before", [True, False])
def test_of_two_first_starts_at_once_one_is_the_first(named_before: bool) -> None:
    if named_before:
        Cooperative.objects.create(name="Two Lanes Growers")
    path = printed_link("--address", "https://heaps.example.org/").removeprefix("https://heaps.example.org")
    start, answers = threading.Barrier(2), []

    def go(name: str) -> None:
        try:
            browser = Client()
            start.wait()
            answers.append(browser.post(path, SAID | {"name": name, "username": name}).status_code)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=go, args=(name,)) for name in ("edda", "finn")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [302, 404]
    assert Member.objects.count() == Cooperative.objects.count() == 1
