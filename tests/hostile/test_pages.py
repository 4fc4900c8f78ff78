"""No name and no words, whatever they hold, become an element, an attribute, a script or a header of any answer."""

import re
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from django.conf import settings
from django.test import Client
from django.urls import get_resolver, reverse
from django.urls.exceptions import NoReverseMatch

from members.models import Tries
from tests.hostile import ground
from tests.hostile.conftest import ROWS, Laid, who_may
from tests.hostile.corpus import HOSTILE, bundles, joined
from tests.hostile.reading import Answer, read
from tests.test_access import PAGES, ROLES, names

HIGH = tuple(role for role in ROLES if role not in ("nobody", "closed"))
#: Questions that make a page show more.
ASKING = {"heaps:tray": ["?day=2026-05-01"]}


def seen(laid: Laid, roles: tuple[str, ...], more: str = "") -> dict[tuple[str, str], Answer]:
    """Every answer of the table to these roles; where not all are meant, to the highest that may see a page."""
    found = {}
    for number, page in enumerate(PAGES):
        may = who_may(page, "GET")
        for role in may if roles == ROLES else may[-1:]:
            for asking in [more] if more else ["", *ASKING.get(page["name"], [])]:
                key = f"{number} {page['name']} {'more' if more else asking}"
                found[key, role] = read(laid.get(number, role, asking))
    return found


def wrong(answers: dict[tuple[str, str], Answer]) -> dict[Any, list[str]]:
    return {where: answer.wrong for where, answer in answers.items() if answer.wrong}


def grown(before: dict[tuple[str, str], Answer], after: dict[tuple[str, str], Answer]) -> dict[Any, Any]:
    """Elements that a page has now and had not before."""
    return {where: more for where, answer in after.items() if (more := answer.elements - before[where].elements)}


def test_the_corpus_is_large_and_each_string_stands_once() -> None:
    assert len(HOSTILE) >= 200
    assert len([one for one in HOSTILE if "__hit" in one]) >= 100


def test_every_model_with_free_text_has_rows_to_show(laid: Laid) -> None:
    assert ground.untold() == []


def test_every_page_is_the_same_tree_whatever_its_words_hold(laid: Laid) -> None:
    ground.spoil([f"plain words {number}" for number in range(ROWS)])
    before = seen(laid, ROLES)
    ways_back = ("plain words", "//plain words")  # one that is followed, and one that is not
    for plain_words in [*ways_back, tame(bundles(ROWS)[1])]:
        for (page, role), answer in seen(laid, HIGH, "?" + asked(plain_words)).items():
            whole = before.get((page.replace(" more", " "), role))  # of which a question may show a part
            before[page, role] = answer.with_all_of(before.get((page, role))).with_all_of(whole)
    assert wrong(before) == {}
    for start, bundle in enumerate(bundles(ROWS)):  # so that a page about one thing meets all of them, too
        ground.spoil(bundles(ROWS), start)
        after = seen(laid, HIGH if start else ROLES) | (seen(laid, HIGH, "?" + asked(bundle)) if start == 1 else {})
        assert (wrong(after), grown(before, after)) == ({}, {}), start


def tame(text: str) -> str:
    """The same words without a sign that could do anything: what is found by them is the same."""
    return re.sub(r"[^\w ]", " ", text)


@cache
def questions() -> list[str]:
    """Every name under which some view looks for a question in the address."""
    apps = [
        path for app in ("heaps", "members", "cooperative") for path in (Path(settings.BASE_DIR) / app).rglob("*.py")
    ]
    keys = re.findall(r"""GET(?:\.get\(|\[)["'](\w+)""", "".join(path.read_text() for path in apps))
    assert "q" in keys
    return sorted({*keys, "next"})


def asked(text: str) -> str:
    """The text as the answer to each of these questions."""
    return urlencode(dict.fromkeys(questions(), text), errors="surrogatepass")


def test_a_question_in_an_address_is_words_and_nothing_else(client: Client, peopled: Laid) -> None:
    for number, text in enumerate(joined(80)):
        for base in ("/guide/", "/sign-in/")[number % 6 > 0 :]:  # the guide is long, and takes its time
            plain = read(client.get(f"{base}?{asked(tame(text))}")).elements
            answer = read(client.get(f"{base}?{asked(text)}"))
            assert (answer.wrong, answer.elements - plain) == ([], Counter()), text


def test_an_address_that_leads_nowhere_is_answered_plainly(client: Client, highest: Client) -> None:
    spots = ["/nowhere/HERE/", "/heaps/HERE/", *secret_places()]
    assert len(spots) > 2
    for number, text in enumerate(HOSTILE):
        part = quote(text, safe="", errors="surrogatepass")[:6_000]
        asking = [(client, spot) for spot in spots[number % 2 :: 2]] + [(highest, spots[number % len(spots)])]
        for browser, spot in asking:
            Tries.objects.all().delete()  # else it would soon say "later" to everything
            response = browser.get(spot.replace("HERE", part))
            assert response.status_code in (302, 400, 403, 404, 410), (spot, text, response.status_code)
            assert read(response).wrong == [], (spot, text)


def secret_places() -> list[str]:
    """Addresses with a part that may be any text, like a link to join."""
    places = []
    for name in set(names(get_resolver())):
        for key in ("code", "link", "words", "token", "key"):
            try:
                places.append(reverse(name, kwargs={key: "HERE"}))
            except NoReverseMatch:
                continue
    return places
