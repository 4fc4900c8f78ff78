"""`manage.py twin` in a short form, on a world for tuning. What it says of four worlds is for the long form."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

SHORT = {"world": "plain", "coops": 5, "heaps": 11, "members": 24}


def said(**options: Any) -> str:
    out = StringIO()
    call_command("twin", stdout=out, **options)
    return out.getvalue()


def test_ranges_hold_about_as_often_as_they_say_and_readings_beat_the_rule_of_thumb() -> None:
    rows = json.loads(said(json=True, **SHORT))["worlds"]["plain"]
    read = {one["harvests"]: one for one in rows if one["way"] == "living heap with its readings"}
    assert {count: one["heaps"] for count, one in read.items()} == {0: 55, 1: 50, 3: 40, 10: 5}
    for count in (0, 1, 3):
        assert read[count]["bags_high"] > 0.7 and read[count]["date_high"] > 0.7  # five cooperatives say no more
    rule = next(one for one in rows if one["way"].startswith("rule") and one["harvests"] == 0)
    assert read[0]["bags_error"] < 0.9 * rule["bags_error"]
    assert read[3]["date_error"] < 0.9 * read[0]["date_error"]


def test_a_written_world_is_foretold_from_its_records_and_scored_by_its_answers(tmp_path: Path) -> None:
    small = {"world": "plain", "coops": 1, "heaps": 12, "members": 12}
    said(write=tmp_path / "world", **small)
    told = said(records=tmp_path / "world", members=12).splitlines()
    assert told[0].startswith("heap,way,harvests,bags_low,bags_middle,bags_high,ready_low")
    assert {line.split(",")[2] for line in told[1:]} == {"0", "1", "3", "10"}
    assert {line.split(",")[0] for line in told[1:]} == {"plain 1-10", "plain 1-11"}
    answers = tmp_path / "world-answers.csv"
    assert [line.split(",")[0] for line in answers.read_text().splitlines()] == ["heap", "plain 1-10", "plain 1-11"]
    rows = json.loads(said(records=tmp_path / "world", answers=answers, members=12, json=True))
    read = [one for one in rows if one["way"] == "living heap with its readings"]
    assert [(one["harvests"], one["heaps"]) for one in read] == [(0, 2), (1, 2), (3, 2), (10, 2)]


def test_a_folder_that_is_not_there_is_no_traceback(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"loads\.csv"):
        said(records=tmp_path)
