"""A file brought in by steps, any of which may be killed: nothing is lost and nothing counts twice."""

from contextlib import suppress
from typing import Any

import pytest
from django.db import transaction

from heaps.importing import reading, runs, shelf
from heaps.models import DayTotal, Entry
from members.models import Member
from tests.heaps.importing.steps import (
    Begin,
    State,
    loads,
    take_back,
    take_on,
    true_to_the_ledger,
)

pytestmark = pytest.mark.ledger


class Killed(BaseException):
    """The process is gone."""


@pytest.mark.parametrize("where", ["heaps.importing.runs.take_in", "heaps.importing.runs.ImportPart.objects.create"])
@pytest.mark.parametrize("when", ["before", "after"])
def test_a_kill_anywhere_neither_loses_nor_doubles(
    begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch, where: str, when: str
) -> None:
    monkeypatch.setattr(runs, "BATCH", 7)
    run = take_on(begin(loads(40)), coordinator, State.READ)
    runs.ask(run, "bring in")
    killing(monkeypatch, where, when)
    deaths = 0
    while run.state != State.DONE:
        try:
            with transaction.atomic():
                runs.step(run, coordinator)
        except Killed:
            deaths += 1
        run.refresh_from_db()
    assert deaths >= 3
    assert (run.went_in, run.place, run.here_already, Entry.objects.count()) == (40, 40, 0, 40)
    assert true_to_the_ledger()
    take_back(run, coordinator)
    assert not DayTotal.objects.exists()


def killing(monkeypatch: pytest.MonkeyPatch, where: str, when: str) -> None:
    """Every second time, die before or after doing this."""
    owner = runs if where.endswith("take_in") else runs.ImportPart.objects
    name = where.rsplit(".", 1)[1]
    real, calls = getattr(owner, name), iter(range(10_000))

    def dying(*args: Any, **kwargs: Any) -> Any:
        dies = next(calls) % 2 == 0
        if dies and when == "before":
            raise Killed
        done = real(*args, **kwargs)
        if dies:
            raise Killed
        return done

    monkeypatch.setattr(owner, name, dying)


def test_a_kill_while_reading_reads_nothing_twice(
    begin: Begin, coordinator: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "AT_ONCE", 6)
    run = begin(loads(20) + "drop-off,2024-05-03,,Bay 9,peelings,bucket,1,,,,,,,,\n" * 5)
    real, calls = shelf.note, iter(range(10_000))

    def dying(file: Any, what: str, value: object) -> None:
        real(file, what, value)
        if what == "read" and next(calls) % 2 == 0:
            raise Killed

    monkeypatch.setattr(shelf, "note", dying)
    while run.state == State.READING:
        with suppress(Killed):
            runs.step(run, coordinator)
        run.refresh_from_db()
    assert (run.lines, run.bad) == (20, 5)
