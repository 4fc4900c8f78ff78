"""What a person does with a file that is brought in, and what must be equal before and after."""

from collections.abc import Callable
from typing import Any

from heaps import history
from heaps.importing import runs
from heaps.models import Attendance, DayTotal, Entry, ImportRun, Ledger, Site, StoredBay, Use
from heaps.sync import link
from members.models import Member

HEAD = "what,date,time,bay,material,container,count,litres,kg,temperature_c,squeeze,bags,share_percent,person,words\n"
A_LOAD = "drop-off,2024-05-{day:02},10:{minute:02},Bay 1,peelings,bucket,{count},,,,,,,,\n"
State = ImportRun.State
Begin = Callable[..., ImportRun]


def loads(count: int, first: int = 0) -> str:
    """So many different loads on the days of a month, the latest first."""
    lines = (
        A_LOAD.format(day=1 + number % 28, minute=number // 28 % 60, count=1 + number % 7)
        for number in range(first, first + count)
    )
    return HEAD + "".join(reversed(list(lines)))


def take_on(run: ImportRun, person: Member, upto: State, most: int = 200) -> ImportRun:
    """Step after step until it has come there."""
    for _ in range(most):
        run.refresh_from_db()
        if run.state == upto:
            return run
        runs.step(run, person)
    raise AssertionError(run.state)


def bring_in(run: ImportRun, person: Member) -> ImportRun:
    take_on(run, person, State.READ)
    runs.ask(run, "bring in")
    return take_on(run, person, State.DONE)


def take_back(run: ImportRun, person: Member) -> ImportRun:
    runs.ask(run, "take back")
    return take_on(run, person, State.GONE)


def sums() -> dict[str, list[tuple[Any, ...]]]:
    """Every stored sum, and what lies in each bay, as it would be told."""
    told = {
        model.__name__: sorted(
            (tuple(getattr(row, field.attname) for field in model._meta.fields if field.name != "id"))
            for row in model.objects.all()
        )
        for model in (Use, Attendance)
    }
    told["DayTotal"] = sorted(
        tuple(str(getattr(row, field.attname)) for field in DayTotal._meta.fields if field.name != "id")
        for row in DayTotal.objects.all()
    )
    told["StoredBay"] = [(row.bay_id, row.state["batch"]) for row in StoredBay.objects.order_by("bay")]
    return told


def chain_holds() -> bool:
    chain = "0" * 64
    for entry in Entry.objects.order_by("pk"):
        if entry.chain != (chain := link(chain, entry)):
            return False
    return Ledger.objects.get().chain == chain


def true_to_the_ledger() -> bool:
    return chain_holds() and not [one for site in Site.objects.all() for one in history.drift(site)]
