"""Exports: no cell of text is a formula, and every number is the number it was."""

import csv
import io
import random
from decimal import Decimal

import pytest

from heaps.funder_report import guarded, halves, hundredths_of_hours, thousandths
from heaps.models import DayTotal, Site
from heaps.views.sheet import sheet_text
from tests.hostile import ground
from tests.hostile.conftest import Laid, who_may
from tests.hostile.corpus import HOSTILE
from tests.hostile.reading import SIGNS, is_formula, read, sheet_faults
from tests.test_access import PAGES


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize(
    "before", ["", " ", "\t", "\r", "\n", "\xa0", "\u3000", "\u200b", "\ufeff", "\x00", "a;", "a,", "a\t ", '"']
)
def test_a_formula_is_known_whatever_stands_before_its_sign(sign: str, before: str) -> None:
    cell = f"{before}{sign}1+1"
    assert sheet_faults(written([("name",), (cell,)])) or before == '"'
    assert sheet_faults(written([("name",), (guarded(cell),)])) == []


def written(rows: list[tuple[str, ...]]) -> str:
    return "".join(sheet_text(rows))


def test_no_string_is_a_formula_once_it_is_guarded() -> None:
    assert [text for text in HOSTILE if is_formula(text)]
    assert sheet_faults(written([(guarded(text), "1") for text in HOSTILE])) == []


def test_a_guard_changes_nothing_but_the_sign_it_guards() -> None:
    for text in HOSTILE:
        assert guarded(text).replace("'", "") == text.replace("'", "")
    for text in ("Lane Side", "Zo\u00eb's café", "Bay 1 - 3", "10 + 5", "me@home", "a=b", "", "50 %"):
        assert guarded(text) == text


def test_numbers_come_back_as_they_were_negative_ones_too() -> None:
    chance = random.Random(11)
    rows = [
        (chance.randint(-(10**9), 10**9), chance.randint(-4_000, 4_000), chance.randint(-(10**6), 10**6))
        for _ in range(10_000)
    ]
    sheet = written(
        [(guarded(chance.choice(HOSTILE)), thousandths(a), halves(b), hundredths_of_hours(c)) for a, b, c in rows]
    )
    assert sheet_faults(sheet) == []
    found = [tuple(map(Decimal, row[1:])) for row in csv.reader(io.StringIO(sheet, newline=""))]
    assert [(int(a * 1000), int(b * 2)) for a, b, _ in found] == [(a, b) for a, b, _ in rows]
    assert all(
        abs(hours * 60 - minutes) <= Decimal("0.3") for (_, _, hours), (_, _, minutes) in zip(found, rows, strict=True)
    )


def test_every_sheet_is_free_of_formulas_with_every_string_as_the_whole_of_a_cell(laid: Laid, site: Site) -> None:
    for number, text in enumerate(HOSTILE):
        one = Site.objects.create(name=f"site of {number}")
        DayTotal.objects.create(
            site=one, day="2026-05-01", what="came in", detail=text, wet_g=-5_250, volume_ml=-1_000, entries=1
        )
    ground.spoil(HOSTILE)
    sheets = 0
    for number, page in enumerate(PAGES):
        for role in who_may(page, "GET")[-1:]:
            response = laid.get(number, role)
            if response.headers.get("Content-Type", "").startswith("text/csv"):
                assert read(response).wrong == []
                sheets += 1
    assert sheets


def test_a_negative_weight_in_the_year_s_sheet_is_a_number(laid: Laid, site: Site) -> None:
    DayTotal.objects.create(site=site, day="2026-05-01", what="returned", detail="-1+1", wet_g=-5_250, volume_ml=-1_000)
    answer = laid.browsers["administrator"].get("/year/2026/came-and-went.csv")
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    (row,) = [row for row in csv.DictReader(io.StringIO(text, newline="")) if row["wet_kg"] == "-5.250"]
    assert (row["litres"], row["material"]) == ("-1.000", "'-1+1")
