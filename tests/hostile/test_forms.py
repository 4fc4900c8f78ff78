"""Every form takes hostile strings as words, or says what to do and keeps what was typed."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction
from django.test import Client

from members.models import Member
from tests.conftest import PASSWORD
from tests.hostile.conftest import Laid, who_may
from tests.hostile.corpus import HOSTILE, bundles
from tests.hostile.reading import Control, Form, read
from tests.test_access import PAGES, title

#: Pages of which the form is filled. Whoever may send it last in the table does so.
#: Each form gets all strings in each field, many at once, and some of them one by one; the forms together get them all.
BUNDLES, ALONE, STRIDE = 4, 16, 23
FORMS = [
    page
    for page in PAGES
    if any(200 <= one < 400 for one in page.get("POST", []))
    and "GET" in page
    and not any(one.startswith("other ") for one in page.get("with", {}).values())
]


@pytest.mark.parametrize("page", FORMS, ids=title)
def test_a_form_keeps_what_was_typed_and_says_what_to_do(page: dict[str, Any], peopled: Laid) -> None:
    role = who_may(page, "POST")[-1]
    browser, where = peopled.browsers[role], peopled.places[PAGES.index(page), role]
    opened = read(browser.get(where))
    assert opened.page is not None
    for form in typed_into(opened.page.forms):
        for number, texts in enumerate([*[bundles(BUNDLES)] * BUNDLES, *[HOSTILE] * ALONE]):
            look(browser, where, form, filled(form, texts, FORMS.index(page) + number * STRIDE, number % 2 == 0))


def typed_into(forms: list[Form]) -> list[Form]:
    """The forms that somebody types into and sends here."""
    return [form for form in forms if form.marks.get("method") == "post" and any(texts(form))]


def texts(form: Form) -> Iterator[Control]:
    return (one for one in form.controls if one.is_text and one.name and one.name != "csrfmiddlewaretoken")


def filled(form: Form, strings: list[str], number: int, whole_numbers: bool) -> dict[str, str]:
    """What is sent: a hostile string in each field; or only where no number is asked for."""
    sent = {one.name: one.value for one in form.controls if one.name and one.marks.get("type") != "checkbox"}
    for place, one in enumerate(texts(form)):
        if whole_numbers or not (one.marks.get("inputmode") == "numeric" or one.marks.get("type") == "hidden"):
            sent[one.name] = strings[(number + place) % len(strings)]
        elif one.marks.get("type") != "hidden":
            sent[one.name] = sent[one.name] or "50"
    return sent


def look(browser: Client, where: str, form: Form, sent: dict[str, str]) -> None:
    """Send it, read the answer and the page after it, and undo what was changed."""
    undo = transaction.savepoint()
    try:
        response = browser.post(str(form.marks.get("action") or where), sent)
        answer = read(response)
        assert (answer.wrong, response.status_code < 500) == ([], True), sent
        if response.status_code in (301, 302):
            assert read(browser.get(response.headers["Location"], follow=True)).wrong == [], sent
        elif response.status_code == 200 and answer.page:
            assert answer.page.alarms, ("nothing is said", sent)
            typed = {one.name: as_shown(sent[one.name]) for one in texts(form) if is_shown(one)}
            kept = [{one.name: as_shown(one.value) for one in again.controls} for again in answer.page.forms]
            assert any(typed.items() <= one.items() for one in kept), (typed, kept)
    finally:
        transaction.savepoint_rollback(undo)


def is_shown(control: Control) -> bool:
    """Whether a field comes back as it was typed. A password never does, and nobody types into a hidden one."""
    return control.marks.get("type") not in ("password", "hidden")


def as_shown(text: str) -> str:
    """What a reader of HTML makes of it: it cannot carry a null sign."""
    return text.replace("\x00", "\ufffd")


def test_a_name_is_one_line_that_can_be_seen(peopled: Laid) -> None:
    for name in (
        "a\nb",
        "a\r\nSet-Cookie: hit=1",
        "\u202eresu",
        "a\u2028b",
        "\u200b",
        "\x1b[31mred",
        "a\x00b",
        "\ufeff",
    ):
        sent = {"name": name, "username": "new.one", "password": PASSWORD}
        answer = read(peopled.browsers["administrator"].post("/set-up/people/add/", sent))
        assert answer.page and answer.page.alarms, name
    assert not Member.objects.filter(username="new.one").exists()


@pytest.mark.parametrize(
    "name",
    [
        "Zo\u00eb O'Brien-N\u00ed",
        "\u0645\u0631\u062d\u0628\u0627",
        "\u4f60\u597d",
        "\U0001f468\u200d\U0001f469\u200d\U0001f467 Rosa",
    ],
)
def test_names_of_the_whole_world_are_taken(peopled: Laid, name: str) -> None:
    peopled.browsers["administrator"].post(
        "/set-up/people/add/", {"name": name, "username": "new.one", "password": PASSWORD}
    )
    assert Member.objects.get(username="new.one").name == name
