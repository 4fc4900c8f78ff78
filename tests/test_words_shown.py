"""Every text of every page goes through gettext: in an invented language nothing is left in English."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests import pseudo
from tests.hostile import ground
from tests.hostile.conftest import ROWS, Laid, browsers, laid, other_site, peopled, who_may
from tests.hostile.test_pages import ASKING
from tests.test_access import PAGES
from tests.unspoken import literals

__all__ = ["browsers", "laid", "other_site", "peopled"]  # fixtures, taken over as they are


@pytest.fixture
def spoken() -> Iterator[None]:
    with pseudo.spoken():
        yield


def test_no_page_shows_a_text_that_is_not_translated(laid: Laid, spoken: None) -> None:
    ground.spoil([f"‹datum {number}›" for number in range(ROWS)])
    found: dict[str, list[str]] = {}
    for number, page in enumerate(PAGES):
        for role in {*who_may(page, "GET")[:1], *who_may(page, "GET")[-1:]}:
            for asking in ["", *ASKING.get(page["name"], [])]:
                for text in literals_of(laid.get(number, role, asking)):
                    found.setdefault(text, []).append(f"{page['name']}{asking} as {role}")
    assert not found, told(found)


def literals_of(answer: Any) -> list[str]:
    """What of an answer is not translated, if it is a page."""
    is_page = answer.headers.get("Content-Type", "").startswith("text/html")
    return literals(answer.content.decode()) if is_page else []


def told(found: dict[str, list[str]]) -> str:
    """Each text once, and where it was seen first."""
    return "not translated:\n" + "\n".join(f"{places[0]}: {text!r}" for text, places in found.items())
