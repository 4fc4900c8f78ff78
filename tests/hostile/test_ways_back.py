"""`next` leads to a page of ours or to none, whoever wrote the address."""

import json
import re
from typing import Any
from urllib.parse import quote, urljoin, urlsplit

from django.db import transaction
from django.test import Client

from tests.conftest import PASSWORD
from tests.hostile.conftest import Laid
from tests.hostile.corpus import lines
from tests.hostile.reading import read
from tests.test_access import PAGES, ROLES

HERE = "http://testserver"
AWAY = lines("ways_away.txt")
MARK = "/guide/?mark=of-the-test"


def test_there_are_sixty_ways_to_lead_away() -> None:
    assert len(set(AWAY)) >= 60


def test_a_sign_in_leads_to_a_page_of_ours(peopled: Laid) -> None:
    for away in AWAY:
        for where, more in ((f"/sign-in/?next={quote(away)}", {}), ("/sign-in/", {"next": away})):
            response = Client().post(where, {"username": "ada", "password": PASSWORD, **more})
            assert response.status_code == 302, away
            assert stays(response.headers["Location"]), away


def test_no_page_that_takes_a_way_back_leads_away(peopled: Laid) -> None:
    takers = [
        (number, role)
        for number in range(len(PAGES))
        for role in (ROLES[0], "administrator")
        if takes(peopled, number, role)
    ]
    assert {"members:sign_in", "members:confirm"} <= {PAGES[number]["name"] for number, _ in takers}
    for number, role in takers:
        for away in AWAY:
            for response in asked(peopled, number, role, away):
                assert led_to(response) == [], (PAGES[number]["name"], role, away)


def takes(peopled: Laid, number: int, role: str) -> bool:
    """Whether a page says anything of a way back that it is given, but that one signs in first and comes back to it."""
    sign_in = f"/sign-in/?next={quote(peopled.places[number, role])}"
    answers = asked(peopled, number, role, MARK)
    led = [one.headers.get("Location", "") for one in answers]
    return any("of-the-test" in one for one in [*map(text, answers), *led] if not one.startswith(sign_in))


def asked(peopled: Laid, number: int, role: str, way: str) -> list[Any]:
    """The page's answers to a way back in its address and in its form; what they changed is undone."""
    browser, where = peopled.browsers[role], peopled.places[number, role]
    undo = transaction.savepoint()
    kept = dict(browser.cookies)
    try:
        answers = [browser.get(f"{where}?next={quote(way)}")]
        if "POST" in PAGES[number]:
            sent = {"next": way, "username": "ada", "password": PASSWORD}
            answers += [browser.post(f"{where}?next={quote(way)}", sent)]
        return answers
    finally:
        transaction.savepoint_rollback(undo)
        browser.cookies.clear()
        browser.cookies.update(kept)


def text(response: Any) -> str:
    return "" if response.streaming else response.content.decode()


def led_to(response: Any) -> list[str]:
    """Where an answer would lead away: by its header, by a link or form of its page, or by what it tells a script."""
    wrong = [] if stays(response.headers.get("Location", "/")) else [response.headers["Location"]]
    if response.headers.get("Content-Type", "").endswith("json"):
        told = json.loads(text(response))
        wrong += [
            one for one in (told.values() if isinstance(told, dict) else []) if isinstance(one, str) and not stays(one)
        ]
    return wrong + read(response).wrong


def stays(where: str) -> bool:
    """Whether a browser that goes there stays here. It drops tabs and ends of lines, and takes \\ for /."""
    clean = re.sub(r"[\t\r\n]", "", where).strip("".join(map(chr, range(33)))).replace("\\", "/")
    try:
        led = urlsplit(urljoin(HERE + "/", clean))
    except ValueError:
        return False
    return (led.scheme, led.netloc) == ("http", "testserver")


def test_what_leads_away_is_known() -> None:
    here = ("/a/", "a", "?b", "#c", "", "/a//b", "http://testserver/a")
    away = ("//a", "/\\a", "\\\\a", "/\t/a", "https:a", "javascript:a", " //a", "http://testserver@a")
    assert [way for way in here if not stays(way)] == []
    assert [way for way in away if stays(way)] == []
