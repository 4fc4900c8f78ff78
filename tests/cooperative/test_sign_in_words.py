"""`manage.py sign_in_words`: the way back for the last administrator who has lost their phone."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from members.models import Member


def printed(*arguments: str) -> list[str]:
    out = StringIO()
    call_command("sign_in_words", *arguments, stdout=out)
    return out.getvalue().split("\n")


@pytest.mark.parametrize("way", ["words", "link"])
def test_words_and_link_let_the_administrator_in(client: Client, administrator: Member, way: str) -> None:
    words, link, _end = printed("Edda", "--address", "https://heaps.example.org/")
    path = link.removeprefix("https://heaps.example.org")
    answer = client.post("/words/", {"words": words}) if way == "words" else client.post(path)
    assert answer["Location"] == "/welcome/"
    assert client.get("/set-up/people/").status_code == 200
    assert Client().post(path).status_code == 404


@pytest.mark.parametrize("name", ["finn", "nobody"])
def test_for_nobody_who_can_sign_in_it_says_so(former_member: Member, name: str) -> None:
    with pytest.raises(CommandError, match="Nobody with this sign-in name can sign in"):
        printed(name)
