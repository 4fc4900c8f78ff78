"""Every text of every page goes through gettext: in an invented language nothing is left in English."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests import pseudo
from tests.hostile import ground
from tests.hostile.conftest import ROWS, Laid, browsers, laid, other_site, peopled, who_may
from tests.hostile.reading import read
from tests.hostile.test_forms import FORMS, filled, typed_into
from tests.hostile.test_pages import ASKING
from tests.test_access import PAGES
from tests.unspoken import literals

__all__ = ["browsers", "laid", "other_site", "peopled"]  # fixtures, taken over as they are

DATA = [f"‹datum {number}›" for number in range(ROWS)]


@pytest.fixture(scope="module")
def language(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the invented language lies."""
    return pseudo.write(tmp_path_factory.mktemp("language"))


@pytest.fixture
def spoken(language: Path) -> Iterator[None]:
    with pseudo.spoken(language):
        yield


def test_no_page_shows_a_text_that_is_not_translated(laid: Laid, spoken: None) -> None:
    ground.spoil(DATA)
    found: dict[str, list[str]] = {}
    for number, page in enumerate(PAGES):
        may = who_may(page, "GET")
        for role in {*may[:1], *may[-1:]}:
            for asking in ["", *ASKING.get(page["name"], [])]:
                for text in literals_of(laid.get(number, role, asking)):
                    found.setdefault(text, []).append(f"{page['name']}{asking} as {role}")
    assert not found, told(found)


@pytest.mark.parametrize("typed", ["", "‹typed›", "-7,5"], ids=["nothing", "words", "a number"])
def test_what_a_form_answers_is_translated(peopled: Laid, spoken: None, typed: str) -> None:
    ground.spoil(DATA)
    found: dict[str, list[str]] = {}
    for page in FORMS:
        role = who_may(page, "POST")[-1]
        browser, where = peopled.browsers[role], peopled.places[PAGES.index(page), role]
        opened = read(browser.get(where)).page
        for form in typed_into(opened.forms) if opened else []:
            answer = browser.post(form.marks.get("action") or where, filled(form, [typed], 0, True), follow=True)
            for text in literals_of(answer):
                found.setdefault(text, []).append(page["name"])
    assert not found, told(found)


def literals_of(answer: Any) -> list[str]:
    """What of an answer is not translated, if it is a page."""
    is_page = answer.headers.get("Content-Type", "").startswith("text/html")
    return literals(answer.content.decode()) if is_page else []


def told(found: dict[str, list[str]]) -> str:
    """Each text once, and where it was seen first."""
    return "not translated:\n" + "\n".join(f"{places[0]}: {text!r}" for text, places in found.items())


def test_the_search_would_notice() -> None:
    page = '<p>⟦Ýés⟧ ‹Ada› 3 kg <b>⟦öné <i>lorem</i>⟧</b></p><input placeholder="⟦ñàmé⟧"><p translate="no">From</p>'
    assert literals(page) == []
    assert literals(page.replace("⟦ñàmé⟧", "name")) == ["name"]
    assert literals(f"{page}<p>Plain words</p>") == ["Plain words"]
    assert literals(f"{page}<p>⟦cut off</p>") != []
