"""The table of faults names tests that exist, and says why where it names none."""

from collections import Counter

import pytest

from tests.faults import table
from tests.faults.proofs import together
from tests.faults.table import COMPOUND, SINGLE, VERDICTS, Row, exists, rows, unproved


@pytest.mark.parametrize("row", rows(), ids=lambda row: row.id)
def test_a_row_is_whole_and_its_tests_exist(row: Row) -> None:
    assert row.id in (*SINGLE, *COMPOUND)
    assert row.verdict in VERDICTS
    assert row.tests or row.verdict != "survived"  # what was not tried may have tests of what stands for it
    assert bool(row.because) == (row.verdict != "survived")
    assert [test for test in row.tests if not exists(test)] == []


def test_no_fault_has_two_rows() -> None:
    assert [name for name, times in Counter(row.id for row in rows()).items() if times > 1] == []


def test_a_test_that_is_not_there_is_noticed() -> None:
    here = "tests/faults/test_table.py"
    assert exists(f"{here}::test_no_fault_has_two_rows")
    assert not exists(f"{here}::test_of_tomorrow")
    assert not exists("tests/faults/test_of_tomorrow.py::test_no_fault_has_two_rows")
    assert not exists(here)


def test_a_test_that_did_not_run_or_pass_proves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    row = Row("F1", "it is killed", "survived", tests=("tests/a.py::test_one", "tests/a.py::test_two"))
    monkeypatch.setattr(table, "rows", lambda: [row])
    passed = {"tests/a.py::test_one": "passed", "tests/a.py::test_two[x]": "passed"}
    assert unproved(passed) == []
    assert unproved(passed | {"tests/a.py::test_two[y]": "skipped"}) == ["F1: tests/a.py::test_two did not pass"]
    assert unproved({"tests/a.py::test_one": "failed"}) == [
        "F1: tests/a.py::test_one did not pass",
        "F1: tests/a.py::test_two did not run",
    ]


def test_what_one_database_skips_the_other_must_prove() -> None:
    one, other = {"a": "skipped", "b": "passed", "c": "passed"}, {"a": "passed", "b": "failed", "d": "skipped"}
    assert together([one, other]) == {"a": "passed", "b": "failed", "c": "passed", "d": "skipped"}


def test_every_fault_has_its_row() -> None:
    assert [name for name in (*SINGLE, *COMPOUND) if name not in {row.id for row in rows()}] == []
