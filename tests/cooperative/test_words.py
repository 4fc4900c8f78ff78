"""The command that gathers all texts finds them wherever they stand, judges them fairly, and serves translators."""

import json
from io import StringIO
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po
from django.core.management import CommandError, call_command
from django.test import Client

from cooperative.words import catalogue, figures
from cooperative.words.reading import read_of, texts_read
from heaps.models import Site
from tests import pseudo


@pytest.fixture(scope="module")
def texts() -> Catalog:
    return catalogue()


@pytest.mark.parametrize(
    "text",
    [
        "Skip to the page",  # a template's
        ("%(number)s person recorded something.", "%(number)s people recorded something."),  # with its plural
        "It is not written here. Ask somebody who gardens here.",  # in a filter's argument
        "reading at",  # in an f-string
        "Cannot tell %(what)s. Please record it again.",  # a refusal of the pure core
        "how many containers",  # a field's name in one
        "Citrus peel",  # the table's
        "cafe or kitchen",  # a choice
        "It is dated in the future.",  # stored, and translated when shown
        "! Not handed in: {n} entry. {why} Kept on this phone.",  # a script's, as it is for one
    ],
)
def test_a_text_is_found_wherever_it_stands(texts: Catalog, text: str | tuple[str, str]) -> None:
    known = {one.id for one in texts} | {one.id[0] for one in texts if isinstance(one.id, tuple)}
    assert text in known


def test_all_texts_keep_the_bars(texts: Catalog) -> None:
    found = figures(texts_read(texts))
    assert len(texts) > 1_500
    assert [(one.name, one.value) for one in found if one.holds is False] == []


@pytest.mark.parametrize(
    ("texts", "fails"),
    [
        (["Submit this."], "texts with a banned"),
        ([" ".join(["one"] * 16) + "."], "sentences of more"),
        (["One two three four five six seven eight nine."], "words a text"),
        (["Thermophilic decomposition necessitates continuous monitoring."], "grade of whole"),
    ],
)
def test_a_bar_that_is_passed_is_told(texts: list[str], fails: str) -> None:
    assert any(one.name.startswith(fails) and one.holds is False for one in figures([read_of(text) for text in texts]))


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("heap", 1), ("compost", 2), ("leaves", 2), ("mixed", 1), ("needed", 2), ("apple", 2), ("tea", 1),
        ("leaf-mould", 2), ("material", 3), ("invitation", 4), ("somebody's", 4), ("12", 1),
    ],
)  # fmt: skip
def test_syllables_are_counted_by_ear_or_a_little_too_many(word: str, count: int) -> None:
    assert read_of(word).syllables == count


def test_the_grade_is_that_of_the_formula() -> None:
    easy = read_of("The cat sat on the mat. It was wet.")
    assert (easy.words, easy.syllables, easy.sentences) == (9, 9, 2)
    assert easy.grade == pytest.approx(0.39 * 4.5 + 11.8 - 15.59)
    assert read_of("%(number)s <b>bags</b> of {what}").words == 4


def test_the_command_tells_people_and_programs() -> None:
    out = StringIO()
    call_command("words", stdout=out)
    assert "grade of all texts" in out.getvalue() and "Hardest to read" in out.getvalue()
    listed = StringIO()
    call_command("words", "--json", stdout=listed)
    keys = {"name", "value", "unit", "baseline", "ratio", "bar", "holds"}
    assert all(set(one) == keys for one in json.loads(listed.getvalue()))


def test_a_strict_run_ends_with_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cooperative.words.reading.MOST_GRADE", 0.1)
    with pytest.raises(CommandError, match="A bar does not hold"):
        call_command("words", "--strict", stdout=StringIO())


def test_a_translator_gets_a_file_and_its_words_come_onto_the_pages(tmp_path: Path, site: Site, client: Client) -> None:
    english = client.get("/service-worker.js").content
    call_command("words", "--pot", str(tmp_path / "heaps.pot"))
    with (tmp_path / "heaps.pot").open("rb") as file:
        translated = read_po(file, locale="fr")
    for text, french in (("Sign in", "Se connecter"), ("Citrus peel", "Écorces d’agrumes"), ("Undo", "Annuler")):
        translated[text].string = french
    folder = tmp_path / "fr" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    with (folder / "django.po").open("wb") as file:
        write_po(file, translated)
    call_command("words", "--compile", str(folder / "django.po"))
    with pseudo.spoken(tmp_path, "fr"):
        page = client.get("/sign-in/").content.decode()
        assert '<html lang="fr">' in page and "Se connecter" in page
        recording = client.get("/drop-off/").content.decode()
        assert "agrumes" in recording and "Annuler" in recording
        assert "Écorces d’agrumes" in client.get("/guide/?q=agrumes").content.decode()
        assert client.get("/service-worker.js").content != english
    assert client.get("/service-worker.js").content == english
    assert '<html lang="en-gb">' in client.get("/sign-in/").content.decode()
