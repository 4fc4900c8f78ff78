"""Worlds as plain files: they come back as they went, say which line to mend, and give nothing of the end away."""

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from cooperative.twin.foretelling import Way, see, taught
from cooperative.twin.people import live
from cooperative.twin.records import Came, Kept, Read, Records, Unreadable, answers, read, write
from cooperative.twin.scoring import lines, scored
from cooperative.twin.worlds import TUNED
from heaps.science.living.parameters import drawn

MEMBERS = drawn(1, 12)


@cache
def world() -> tuple[tuple[Kept, ...], dict[str, Came]]:
    return live(TUNED[0], 2, 3)


def test_a_world_comes_back_as_it_was_written(tmp_path: Path) -> None:
    kept, came = world()
    watered = replace(kept[0], waterings=((kept[0].closed, 20.0),))
    past = {kept[0].heap: came[kept[0].heap]}
    write(Records((watered, *kept[1:]), past), tmp_path / "world", came, tmp_path / "answers.csv")
    told = read(tmp_path / "world")
    assert told.heaps == (watered, *kept[1:])
    assert told.harvests == past
    assert answers(tmp_path / "answers.csv") == came


@pytest.mark.parametrize(
    ("file", "line", "says"),
    [
        ("loads.csv", "plain 1-0,2030-05-01,moon dust,10,", "there is no material 'moon dust'"),
        ("loads.csv", "plain 1-0,1st of May,peelings,10,", "Invalid isoformat"),
        ("loads.csv", "plain 1-0,2030-05-01,peelings,-10,", "-10 is not more than nothing"),
        ("loads.csv", "plain 1-0,2030-05-01,peelings,nan,", "nan is not more than nothing"),
        ("loads.csv", "plain 1-0,2030-05-01,peelings", "not as many cells as the first line"),
        ("loads.csv", "plain 1-0,2030-05-01,peelings,10,,tipped", "not as many cells as the first line"),
        ("deeds.csv", "plain 1-0,2030-05-01,prayed,", "a deed is turn or water, not 'prayed'"),
        ("readings.csv", "plain 1-0,2030-05-01,,,,mostly", "a look is one of all, most, half"),
        ("readings.csv", "plain 1-0,2030-05-01,inf,,,", "inf is no number"),
        ("heaps.csv", "plain 9,plain 9-9,1,1,1,yes,no,45", "loads.csv has no load of it"),
        ("heaps.csv", "plain 9,plain 1-0,1,1,1,maybe,no,45", "say yes or no, not 'maybe'"),
        ("harvests.csv", "plain 1-0,0,", "0 is not more than nothing"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(tmp_path: Path, file: str, line: str, says: str) -> None:
    number = _added(_written(tmp_path) / file, line)
    with pytest.raises(Unreadable, match=f"^{file}, line {number}: {says}"):
        read(tmp_path)


@pytest.mark.parametrize(
    ("file", "line", "says"),
    [
        ("deeds.csv", "nobody,2030-05-01,turn,", "lacks these heaps, which other files name: nobody"),
        ("harvests.csv", "nobody,4,", "lacks these heaps, which other files name: nobody"),
        ("heaps.csv", "plain 9,plain 1-0,1,1,1,yes,no,45", "has these heaps twice: plain 1-0"),
    ],
)
def test_heaps_that_do_not_go_together_are_named(tmp_path: Path, file: str, line: str, says: str) -> None:
    _added(_written(tmp_path) / file, line)
    with pytest.raises(Unreadable, match=f"heaps.csv {says}"):
        read(tmp_path)


def test_a_column_that_is_not_there_is_named(tmp_path: Path) -> None:
    file = _written(tmp_path) / "loads.csv"
    file.write_text(file.read_text(encoding="utf-8").replace("litres", "liters", 1), encoding="utf-8")
    with pytest.raises(Unreadable, match=r"loads\.csv: its first line lacks 'litres'"):
        read(tmp_path)


def test_tables_that_went_through_a_spreadsheet_are_read_as_before(tmp_path: Path) -> None:
    for file in _written(tmp_path).glob("*.csv"):
        rows = file.read_text(encoding="utf-8").splitlines()
        file.write_bytes(("\ufeff" + "\r\n".join(row.replace(",", " , ") for row in [*rows, ""])).encode())
    assert read(tmp_path).heaps == world()[0]


def test_where_nobody_said_when_it_was_ready_its_bags_teach(tmp_path: Path) -> None:
    kept, _ = world()
    file = tmp_path / "answers.csv"
    file.write_text(f"heap,bags,ready\n{kept[0].heap},3.0,\n", encoding="utf-8")
    came = answers(file)
    seen = see(Records(kept), MEMBERS)
    before, after = taught([], Way.READ), taught([(seen[kept[0].heap], came[kept[0].heap])], Way.READ)
    heap = seen[kept[1].heap]
    assert after.foretell(heap).bags.centre < before.foretell(heap).bags.centre
    assert after.foretell(heap).days == before.foretell(heap).days
    (scored_bags, *_) = scored(lines(seen, {}, all_are_asked=False), came)
    assert scored_bags.heaps == 1 and scored_bags.date is None


def _written(folder: Path) -> Path:
    """A world without harvests, in a folder."""
    write(Records(world()[0]), folder, {}, folder.with_suffix(".answers"))
    return folder


def _added(file: Path, line: str) -> int:
    """Puts a line at the end; its number."""
    rows = [*file.read_text(encoding="utf-8").splitlines(), line]
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return len(rows)


def test_a_forecast_sees_nothing_that_was_read_later_and_no_answer() -> None:
    kept, _ = world()
    one = replace(kept[0], turns=())
    later = one.closed + timedelta(days=30)
    seen = see(Records((one,)), MEMBERS)[one.heap]
    more = (*one.readings, Read(later, core_c=70.0), Read(later, fill=1.9))
    then = see(Records((replace(one, readings=more),)), MEMBERS)[one.heap]
    assert (then.outlooks[Way.READ].conditioned.mean == seen.outlooks[Way.READ].conditioned.mean).all()
    assert (then.outlooks[Way.LATER].conditioned.mean != seen.outlooks[Way.LATER].conditioned.mean).any()
    before = taught([], Way.READ).foretell(seen)
    after = taught([(seen, Came(3.0, one.closed + timedelta(days=300)))], Way.READ).foretell(seen)
    assert after.bags.centre < before.bags.centre and after.days.centre > before.days.centre


def test_which_year_it_was_and_who_lies_beside_it_change_nothing() -> None:
    kept, _ = world()
    alone = see(Records((kept[1],)), MEMBERS)[kept[1].heap]
    together = see(Records(kept), MEMBERS)[kept[1].heap]
    for way in alone.outlooks:
        assert np.allclose(alone.outlooks[way].conditioned.mean, together.outlooks[way].conditioned.mean, atol=1e-6)


def test_people_record_poorly_and_what_comes_of_it_is_counted_in_half_bags() -> None:
    kept, came = world()
    assert {one.heap for one in kept} == set(came)
    for one in kept:
        assert came[one.heap].bags * 2 == int(came[one.heap].bags * 2) > 0
        assert came[one.heap].ready > one.closed
        assert one.loads and one.readings and one.began < one.closed
        assert min(it.day for it in one.readings) >= one.began
        assert date(2030, 1, 1) <= one.began < date(2031, 2, 1)
