"""The page for old notebooks: what is shown before anything goes in, each step by a button, and back again."""

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import Settings

from heaps.importing import shelf
from heaps.models import Bay, DayTotal, Entry, ImportRun, Site
from heaps.names import forget, take_off_imports
from members.models import Member

IMPORTS = "/set-up/imports/"
NOTEBOOK = (
    "what,date,bay,material,litres,words\n"
    "drop-off,3/5/2024,Bay 1,Peelings,20,from <b>Ada</b>\n"
    "drop-off,4/5/2024,Bay 1,Coffee,10,\n"
    "drop-off,5/5/2024,Bay 9,Coffee,10,\n"
    "drop-off,6/5/2024,Bay 1,=moon dust,10,\n"
    "drop-off,7/5/2224,Bay 1,Coffee,10,\n"
)


@pytest.fixture(autouse=True)
def own_folder(settings: Settings, tmp_path: Path) -> Path:
    """The files of this test only."""
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path
    return tmp_path


@pytest.fixture
def browser(site: Site, coordinator: Member, client_of: Callable[..., Client]) -> Client:
    return client_of(coordinator)


def choose(browser: Client, content: str | bytes = NOTEBOOK, name: str = "old.csv", **more: object) -> str:
    """Send a file; answers with the page that follows."""
    data = content if isinstance(content, bytes) else content.encode()
    said = {"of": "notebook", "file": SimpleUploadedFile(name, data), **more}
    return browser.post(IMPORTS, said, follow=True).content.decode()


def press(browser: Client, says: str, **more: str) -> str:
    """Press a button of the latest file's page."""
    where = reverse("heaps:import", args=[ImportRun.objects.latest("pk").uid])
    return browser.post(where, {"says": says, **more}, follow=True).content.decode()


def test_what_was_understood_is_shown_before_anything_goes_in(browser: Client) -> None:
    assert "0 of 5 lines read" in choose(browser)
    page = press(browser, "step")
    assert "Line 2: 3 May 2024, 12:00, Lane Side." in page
    assert "1 × 20 litres of Vegetable peelings into Bay 1" in page
    assert "Recorded by Cleo." in page
    assert "from &lt;b&gt;Ada&lt;/b&gt;" in page
    assert "<dt>Rows that fit</dt><dd>2</dd>" in page
    assert "<dt>Lines that stay out</dt><dd>3</dd>" in page
    assert "There is no bay called Bay 9 at Lane Side. Is it bay " in page
    assert "This day is in the future, or before 1990." in page
    assert "Nothing is in yet." in page
    assert not Entry.objects.exists()


def test_in_and_out_again_without_a_script(browser: Client) -> None:
    choose(browser)
    press(browser, "step")
    assert "0 of 2 rows" in press(browser, "bring in")
    page = press(browser, "step")
    assert "<dt>Went in</dt><dd>2</dd>" in page and "Take the whole import back" in page
    assert DayTotal.objects.count() == 2
    assert "0 of 2 rows taken back" in press(browser, "take back")
    assert "Nothing of this file counts any more." in press(browser, "step")
    assert DayTotal.objects.count() == 0
    (row,) = (one for one in browser.get(IMPORTS).content.decode().split("<tr>") if "old.csv" in one)
    assert "Cleo" in row and "taken back" in row


def test_the_same_file_is_said_to_be_here(browser: Client) -> None:
    for _ in range(2):
        choose(browser)
        page = press(browser, "step")
        press(browser, "bring in")
        press(browser, "step")
    assert "This very file was brought in on" in page
    assert "<dt>Of these here already</dt><dd>2</dd>" in page
    assert Entry.objects.count() == 2


def test_each_column_shows_what_stands_in_it(browser: Client) -> None:
    long = "from the hedge along the lane, a whole trailer of it"
    text = (
        f"qué;wann;plot;leer\ndrop-off;2026-05-01;Bay 1;\nreading;2026-05-01;<b>{long}</b>;\ndrop-off;;;\nx;2026-05-02"
    )
    page = choose(browser, text)
    assert "In it stands: drop-off; reading; x<" in page and "In it stands: 2026-05-01; 2026-05-02<" in page
    assert "In it stands: Bay 1; &lt;b&gt;from the hedge along" in page and long not in page
    assert page.count("Nothing stands in it.") == 1
    late = text.replace("drop-off;;;\n", "drop-off;;;\n" * 100) + ";;smelt of ammonia"
    page = choose(browser, late)
    assert "Nothing stands in it in the first 100 lines." in page and "Nothing stands in it." not in page


def test_columns_are_matched_by_hand_and_what_was_chosen_comes_back(browser: Client) -> None:
    page = choose(browser, "Art,Day,Heap,Stuff,Litres,<i>sky</i>\ndrop-off,3/5/2024,Bay 1,Peelings,10,rain\n")
    assert "What is each column?" in page and "&lt;i&gt;sky&lt;/i&gt;" in page
    wrong = press(
        browser, "columns", **{"column-1": "date", "column-2": "bay", "column-3": "bay", "column-4": "litres"}
    )
    assert "Say what Art is, or leave it out." in wrong
    assert wrong.count('<option value="bay" selected>') == 2
    names = ["what", "date", "bay", "material", "litres", "leave out"]
    press(browser, "columns", **{f"column-{number}": name for number, name in enumerate(names)})
    assert "1 × 10 litres of Vegetable peelings into Bay 1" in press(browser, "step")


def test_lines_that_stay_out_are_a_table_without_formulas(browser: Client) -> None:
    choose(browser)
    press(browser, "step")
    answer = browser.get(reverse("heaps:left_out", args=[ImportRun.objects.get().uid]))
    rows = list(csv.reader(io.StringIO(b"".join(answer.streaming_content).decode("utf-8-sig"), newline="")))
    assert [row[:2] for row in rows] == [["line", "column"], ["4", "bay"], ["5", "material"], ["6", "date"]]
    assert not [cell for row in rows for cell in row if cell.startswith(("=", "+", "-", "@"))]


def test_many_bad_lines_come_a_page_at_a_time(browser: Client) -> None:
    choose(browser, "what,date,bay\n" + "drop-off,never,Bay 1\n" * 90)
    press(browser, "step")
    where = reverse("heaps:import", args=[ImportRun.objects.get().uid])
    shown = {page: browser.get(f"{where}?page={page}").content.decode() for page in (1, 6, "x")}
    lines = {page: text.count('<th scope="row">Line') for page, text in shown.items()}
    assert lines == {1: 50, 6: 20, "x": 50}, "three reasons a line"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "The file is empty."),
        (b"PK\x03\x04 a spreadsheet", "Save it there as CSV"),
        (b"\x00\x01\x02", "This is no text."),
        (b"a," * 1_000_000, "The first line is far too long."),
    ],
)
def test_a_bad_file_comes_back_with_what_to_do(browser: Client, own_folder: Path, content: bytes, says: str) -> None:
    page = choose(browser, content, site=str(Site.objects.get().pk))
    assert says in page and "Then choose the file once more." in page
    assert "selected>Lane Side" in page
    assert (ImportRun.objects.count(), list(own_folder.iterdir())) == (0, [])


def test_a_file_that_is_too_large_is_not_kept(browser: Client, own_folder: Path) -> None:
    page = choose(browser, b"a" * (shelf.MOST_BYTES + 1))
    assert "The file is larger than 20 MB." in page
    assert (ImportRun.objects.count(), list(own_folder.iterdir())) == (0, [])


@pytest.mark.parametrize(("who", "where"), [("member", IMPORTS), ("coordinator", "/set-up/donors/add/")])
def test_no_file_reaches_the_disk_but_where_it_may(
    who: str, where: str, client_of, site, member, coordinator, own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken = []
    monkeypatch.setattr(shelf.ToDisk, "receive_data_chunk", lambda *chunk: taken.append(chunk))
    browser = client_of({"member": member, "coordinator": coordinator}[who])
    browser.post(where, {"file": SimpleUploadedFile("old.csv", b"a" * 100_000)})
    assert (taken, list(own_folder.iterdir())) == ([], [])


def test_a_logger_needs_its_bay(browser: Client, bay: Bay) -> None:
    content = "time,A\n2024-05-03 10:00,41.5\n"
    assert "Say in which bay the probes are." in choose(browser, content, of="logger")
    choose(browser, content, of="logger", bay=str(bay.pk))
    assert "A 41.5" in (page := press(browser, "step")) or "41.5 °C" in page


def test_a_name_that_is_a_path_or_markup_stays_a_name(browser: Client, own_folder: Path) -> None:
    page = choose(browser, name="../<b>x</b>.csv")
    run = ImportRun.objects.get()
    assert "<b>x" not in page
    assert {path.name for path in own_folder.iterdir()} == {f"{run.uid}.file", f"{run.uid}.lines"}


def test_a_file_thrown_away_is_asked_for_again(browser: Client) -> None:
    choose(browser)
    press(browser, "step")
    shelf.throw_away(ImportRun.objects.get())
    assert "The file is no longer here." in press(browser, "step")
    press(browser, "bring in")
    assert "The file is no longer here." in press(browser, "step")


def test_another_file_on_its_way_is_named(browser: Client) -> None:
    for name in ("one.csv", "two.csv"):
        choose(browser, name=name)
        press(browser, "step")
        page = press(browser, "bring in")
    assert "First let one.csv come to its end" in page
    assert ImportRun.objects.latest("pk").state == "read"


def test_whose_name_goes_takes_the_file_s_name_along(browser: Client, coordinator: Member) -> None:
    choose(browser, name="cleos old notebook.csv")
    take_off_imports(ImportRun.objects.get().made_at)
    assert ImportRun.objects.get().person == coordinator
    forget(coordinator)
    assert (ImportRun.objects.get().person, ImportRun.objects.get().file_name) == (None, "")
    ImportRun.objects.update(person=coordinator, file_name="x")
    take_off_imports(timezone.now())
    assert (ImportRun.objects.get().person, str(ImportRun.objects.get())) == (None, "a file")
