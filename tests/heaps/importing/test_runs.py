"""Files brought in step by step: in and out to the gram, stopped, two at once, corrected meanwhile."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from heaps.importing import intake, reading, runs
from heaps.models import Bay, DayTotal, Entry, ImportRun, Parked, Site
from members.models import Member
from tests.heaps.importing.steps import (
    A_LOAD,
    HEAD,
    Begin,
    State,
    bring_in,
    loads,
    sums,
    take_back,
    take_on,
    true_to_the_ledger,
)

pytestmark = pytest.mark.ledger


def test_nothing_is_in_before_somebody_says_so(begin: Begin, coordinator: Member) -> None:
    run = take_on(begin(loads(30)), coordinator, State.READ)
    assert (run.lines, run.bad, run.here_already, Entry.objects.count()) == (30, 0, 0, 0)
    runs.step(run, coordinator)
    assert Entry.objects.count() == 0


def test_a_file_goes_in_and_out_again_to_the_gram(
    begin: Begin, coordinator: Member, keep: Any, bay: Bay, at: Callable[..., datetime]
) -> None:
    keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=5, container_ml=10_000)
    keep("harvest", bay, at(6, 1), half_bags=3, bag_ml=40_000, per_cent=30, sieved="coarse")
    before = sums()
    run = bring_in(begin(loads(60)), coordinator)
    assert (run.went_in, Entry.objects.count()) == (60, 62)
    assert sums() != before
    assert true_to_the_ledger()
    run = take_back(run, coordinator)
    assert (run.taken_back, Entry.objects.count()) == (60, 122)
    assert sums() == before
    assert true_to_the_ledger()


def test_what_was_taken_back_comes_in_again_and_counts(begin: Begin, coordinator: Member) -> None:
    once = bring_in(begin(loads(40)), coordinator)
    counted = sums()
    for _ in range(2):
        take_back(once, coordinator)
        assert not DayTotal.objects.exists()
        once = bring_in(begin(loads(40)), coordinator)
        assert (once.went_in, once.here_already) == (40, 0)
        assert sums()["DayTotal"] == counted["DayTotal"]
    assert bring_in(begin(loads(40)), coordinator).here_already == 40
    assert true_to_the_ledger()


def test_the_same_file_is_noticed_and_counts_once(begin: Begin, coordinator: Member) -> None:
    first = bring_in(begin(loads(20)), coordinator)
    counted = sums()
    again = take_on(begin(loads(20)), coordinator, State.READ)
    assert (again.here_already, runs.same_file(again)) == (20, first)
    again = bring_in(again, coordinator)
    assert (again.went_in, again.here_already) == (0, 20)
    assert sums() == counted
    take_back(again, coordinator)
    assert sums() == counted, "what another file brought in is not its to take back"


def test_a_longer_copy_brings_only_what_is_new_and_takes_only_that_back(begin: Begin, coordinator: Member) -> None:
    bring_in(begin(loads(20)), coordinator)
    counted = sums()
    longer = bring_in(begin(loads(50)), coordinator)
    assert (longer.went_in, longer.here_already) == (30, 20)
    take_back(longer, coordinator)
    assert sums() == counted


def test_stop_and_go_on(begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runs, "BATCH", 10)
    run = take_on(begin(loads(40)), coordinator, State.READ)
    runs.ask(run, "bring in")
    runs.step(run, coordinator)
    stale = ImportRun.objects.get(pk=run.pk)
    runs.ask(run, "stop")
    runs.step(stale, coordinator)  # another tab has not seen it yet
    run.refresh_from_db()
    assert (run.state, run.place, Entry.objects.count()) == (State.STOPPED, 10, 10)
    runs.ask(run, "bring in")
    assert take_on(run, coordinator, State.DONE).went_in == 40


def test_half_of_it_is_taken_back_whole(begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runs, "BATCH", 10)
    run = take_on(begin(loads(40)), coordinator, State.READ)
    runs.ask(run, "bring in")
    runs.step(run, coordinator)
    runs.step(ImportRun.objects.get(pk=run.pk), coordinator)
    runs.ask(run, "stop")
    run = take_back(run, coordinator)
    assert (run.went_in, run.taken_back, DayTotal.objects.count()) == (20, 20, 0)
    assert true_to_the_ledger()


def test_stop_is_not_undone_by_an_older_page(begin: Begin, coordinator: Member) -> None:
    run = bring_in(begin(loads(10)), coordinator)
    runs.ask(run, "take back")
    runs.ask(run, "bring in")
    runs.ask(run, "stop")
    assert ImportRun.objects.get().state == State.BACK


def test_a_long_part_is_taken_back_in_pieces(
    begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = bring_in(begin(loads(40)), coordinator)
    monkeypatch.setattr(runs, "BATCH", 7)
    runs.ask(run, "take back")
    runs.step(run, coordinator)
    assert (ImportRun.objects.get().taken_back, true_to_the_ledger()) == (7, True)
    assert take_on(run, coordinator, State.GONE).taken_back == 40


def test_a_line_whose_bay_is_gone_meanwhile_stays_out_and_comes_in_once_it_is_back(
    begin: Begin, coordinator: Member, site: Site, bay: Bay
) -> None:
    notebook = loads(4) + loads(3, 50).removeprefix(HEAD).replace("Bay 1", "Bay 7")
    size = {"position": 7, "length_cm": 100, "width_cm": 100, "height_cm": 100}
    Bay.objects.create(site=site, name="Bay 7", **size)
    run = take_on(begin(notebook), coordinator, State.READ)
    Bay.objects.get(name="Bay 7").delete()
    runs.ask(run, "bring in")
    run = take_on(run, coordinator, State.DONE)
    assert (run.lines, run.went_in, run.here_already, run.bad) == (7, 4, 0, 3)
    assert {str(one.reason) for one in reading.bad_lines(run)} == {"One of its bays is not known at that site."}
    Bay.objects.create(site=site, name="Bay 7", **size)
    again = bring_in(begin(notebook), coordinator)
    assert (again.went_in, again.here_already, again.bad) == (3, 4, 0)
    take_back(run, coordinator)
    take_back(again, coordinator)
    assert not DayTotal.objects.exists()
    assert not Parked.objects.exists(), "nobody is asked to place what was taken back"
    assert true_to_the_ledger()


def test_two_at_once_are_not_mixed(begin: Begin, coordinator: Member) -> None:
    one, two = (take_on(begin(loads(20, first)), coordinator, State.READ) for first in (0, 50))
    runs.ask(one, "bring in")
    with pytest.raises(runs.Busy):
        runs.ask(two, "bring in")
    runs.ask(one, "stop")
    runs.ask(two, "bring in")


def test_what_somebody_corrected_meanwhile_is_taken_back_too(
    begin: Begin, coordinator: Member, keep: Any, bay: Bay
) -> None:
    run = bring_in(begin(loads(3)), coordinator)
    one = Entry.objects.order_by("pk")[1]
    more = one.details | {"half_containers": 40}
    said = {"corrects": str(one.uid), "says": "instead", "kind": "dropoff", "bay": str(bay.uid), "details": more}
    keep("correction", None, timezone.now(), **said)
    take_back(run, coordinator)
    assert not DayTotal.objects.exists()
    assert true_to_the_ledger()


def test_what_was_withdrawn_and_put_right_is_replayed_by_a_late_entry(
    keep: Any, bay: Bay, at: Callable[..., datetime]
) -> None:
    coffee = {"feedstock": "coffee", "half_containers": 5, "container_ml": 10_000}
    one = keep("dropoff", bay, at(5, 2), **coffee).uid
    keep("correction", None, at(5, 3), corrects=one, says="withdraw")
    keep("correction", None, at(5, 4), corrects=one, says="instead", kind="dropoff", bay=str(bay.uid), details=coffee)
    keep("dropoff", bay, at(5, 1), by_hand=True, arrives=at(5, 5), **coffee)
    assert true_to_the_ledger()


def test_what_was_revived_after_it_was_taken_back_does_not_come_twice(
    begin: Begin, coordinator: Member, keep: Any, bay: Bay
) -> None:
    run = take_back(bring_in(begin(loads(3)), coordinator), coordinator)
    one = Entry.objects.filter(kind="dropoff")[0]
    said = {"corrects": str(one.uid), "says": "instead", "kind": "dropoff", "bay": str(bay.uid), "details": one.details}
    keep("correction", None, timezone.now(), **said)
    assert run.taken_back == 3
    again = bring_in(begin(loads(3)), coordinator)
    assert (again.went_in, again.here_already) == (2, 1)


def test_the_command_and_the_page_know_each_other_s_lines(begin: Begin, coordinator: Member) -> None:
    run = bring_in(begin(loads(10)), coordinator)
    (line,) = Entry.objects.order_by("pk")[:1]
    assert intake.here_by_now({str(line.uid)}) == {str(line.uid): "here"}
    take_back(run, coordinator)
    assert intake.here_by_now({str(line.uid)}) == {str(line.uid): "gone"}


LINES = st.lists(st.tuples(st.integers(1, 28), st.integers(0, 59), st.integers(1, 3)), max_size=14)


@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(ours=LINES, theirs=LINES, live=LINES, batch=st.integers(1, 6))
def test_whatever_goes_in_and_out_the_rest_stays(
    begin: Begin, coordinator: Member, keep: Any, bay: Bay, monkeypatch: pytest.MonkeyPatch, ours, theirs, live, batch
) -> None:
    monkeypatch.setattr(runs, "BATCH", batch)
    undo = transaction.savepoint()
    for day, minute, count in live:
        moment = timezone.now().replace(2024, 5, day, 9, minute, 0, 0)
        keep("dropoff", bay, moment, feedstock="coffee", half_containers=count, container_ml=10_000)
    first = bring_in(begin(written(theirs)), coordinator)
    before = sums()
    run = bring_in(begin(written(ours)), coordinator)
    assert first.went_in == len(theirs)
    assert run.went_in + run.here_already == len(ours)
    assert true_to_the_ledger()
    take_back(run, coordinator)
    assert sums() == before
    assert true_to_the_ledger()
    transaction.savepoint_rollback(undo)


def written(lines: list[tuple[int, int, int]]) -> str:
    return HEAD + "".join(A_LOAD.format(day=day, minute=minute, count=count) for day, minute, count in lines)
