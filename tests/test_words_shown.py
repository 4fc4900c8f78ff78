"""Every text of every page goes through gettext: in an invented language nothing is left in English."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from pytest_django import Settings

from heaps.importing import reading, reasons, runs
from heaps.importing.notebook import COLUMNS
from heaps.importing.reasons import BadCell
from heaps.models import ImportRun, Site
from heaps.wire import Refusal, Term
from heaps.wording import refused
from members.models import Member
from tests import pseudo
from tests.hostile import ground
from tests.hostile.conftest import ROWS, Laid, browsers, laid, other_site, peopled, who_may
from tests.hostile.reading import read
from tests.hostile.test_forms import FORMS, filled, typed_into
from tests.hostile.test_pages import ASKING
from tests.test_access import PAGES
from tests.unspoken import literals

__all__ = ["browsers", "laid", "other_site", "peopled"]  # fixtures, taken over as they are

#: Lines of a notebook, each wrong in ways of its own. What they do not say stands in `FITTING`.
FITTING = {"what": "drop-off", "date": "3/5/2024", "material": "coffee", "litres": "10"}
WRONG_LINES: list[dict[str, str]] = [
    {"what": "", "date": "", "bay": "", "material": "", "litres": "", "count": "1"},
    {"what": "dance", "date": "30/2/2024", "site": "‹nowhere›", "time": "noon"},
    {"date": "3/5/2224", "bay": "‹none›", "person": "‹nobody›", "material": "‹moon dust›"},
    {"material": "meat", "container": "‹barrel›", "count": "1.25", "words": "‹long›" * 200},
    {"litres": "a few", "count": "1 kg", "temperature_c": "40", "kg": "1,200"},
    {"litres": "1,200,5", "kg": "9" * 16},
    {"litres": "5 parsec", "kg": "0"},
    {"what": "reading", "material": "", "litres": "", "squeeze": "soft", "fill_percent": "33.3"},
    {"what": "reading", "material": "", "litres": "", "place": "core"},
    {"what": "harvest", "material": "", "litres": "", "sieved": "perhaps"},
    {"sieved": "‹one cell too many›", "words": "‹more›;‹more›"},
]
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


def test_why_lines_of_a_notebook_stay_out_is_translated(
    peopled: Laid, spoken: None, settings: Settings, tmp_path: Path
) -> None:
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path
    ground.spoil(DATA)
    site, cleo = Site.objects.all()[0], Member.objects.get(username="cleo")
    usual = dict.fromkeys(COLUMNS, "") | FITTING | {"bay": site.bays.all()[0].name}
    lines = [usual, *(usual | wrong for wrong in WRONG_LINES)]
    content = "\n".join([";".join(f"‹{name}›" for name in COLUMNS), *(";".join(line.values()) for line in lines)])
    run = ImportRun(file_name="‹old.csv›", person=cleo, site=site, made_at=timezone.now())
    runs.begin(SimpleUploadedFile("old.csv", content.encode()), run)
    runs.match(run, COLUMNS)
    runs.step(run, cleo)
    run.refresh_from_db()
    found = reading.bad_lines(run)
    assert ({one.line for one in found}, run.lines) == (set(range(3, len(lines) + 2)), 1)
    assert len({one.reason.says for one in found}) >= 20
    page = peopled.browsers["coordinator"].get(reverse("heaps:import", args=[run.uid]))
    assert page.content.decode().count('<th scope="row">') == len(found)
    assert literals_of(page) == []


def test_words_of_ours_within_a_reason_are_translated(spoken: None) -> None:
    guess = BadCell("Is it %(near)s?", near="NEAR")
    missing = BadCell("There is no material called %(name)s. %(guess)s", name="NAME", guess=guess)
    never = Refusal("%(material)s never goes in. %(instead)s", material=Term("Coffee grounds"), instead=guess)
    for reason in (missing, never):
        assert str(reasons.read(reasons.kept(reason))) == str(reason)
        assert refused(reasons.read(reasons.kept(reason))) == refused(reason)
    assert pseudo.pseudo("Is it %(near)s?") % {"near": "NEAR"} in refused(missing)
    assert pseudo.pseudo("Coffee grounds") in refused(never)


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
