"""An old notebook on its way in by the page: one bounded step at a time, each whole or not at all.

A step locks the ledger and then its run, takes some lines and moves the run's place, all in one transaction. So two
people may press at once, and a process may die anywhere: nothing is lost and nothing goes in twice.

An entry dated before others has these replayed. The more there are, the more lines a step takes, so that the work of
all steps together grows with the lines and not with lines times ledger.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone

from heaps.importing import reading, shelf, taking_back
from heaps.importing.intake import BATCH, LARGEST, Bad, Found, not_here, take_in
from heaps.importing.reasons import Unreadable
from heaps.models import Entry, ImportPart, ImportRun, Ledger
from heaps.sync import head
from members.models import Member

State = ImportRun.State
MOST_AT_ONCE = 2_500  # of these a phone, or another page, may have to await the end
#: What may be asked of a run, where it may, and what it then is.
ASKED: dict[str, tuple[tuple[str, ...], State]] = {
    "bring in": ((State.READ, State.STOPPED), State.GOING),
    "stop": ((State.GOING,), State.STOPPED),
    "take back": ((State.STOPPED, State.DONE), State.BACK),
}
BEFORE_IT = (State.COLUMNS, State.READING, State.READ)
ON_ITS_WAY = (State.READING, State.GOING, State.BACK)


class FileGone(Exception):
    """The file is no longer there: thrown away after its time, or the ledger came from a copy without it."""


class Busy(Exception):
    """Another file is on its way in or out just now: `run`."""

    def __init__(self, run: ImportRun) -> None:
        super().__init__(run.uid)
        self.run = run


def begin(upload: "UploadedFile[Any]", run: ImportRun) -> ImportRun:
    """Put a file there and look through it. Raises Unreadable, and leaves nothing behind then."""
    shelf.folder().mkdir(mode=0o700, parents=True, exist_ok=True)
    shelf.put(upload, run)
    try:
        run.digest = shelf.digest(shelf.path_of(run))
        reading.open_file(run)
        run.save()
    except BaseException:
        shelf.throw_away(run)
        raise
    return run


def same_file(run: ImportRun) -> ImportRun | None:
    """An earlier run of the very same file whose entries are in the ledger."""
    others = ImportRun.objects.filter(digest=run.digest, made_at__lt=run.made_at, parts__isnull=False)
    return others.exclude(pk=run.pk).distinct().first()


def ask(run: ImportRun, what: str) -> None:
    """Bring in, stop or take back. Where that is not to be had any more, nothing happens. Raises Busy."""
    states, then = ASKED[what]
    with _locked(run) as run:
        if run.state not in states:
            return
        other = ImportRun.objects.filter(state__in=(State.GOING, State.BACK)).exclude(pk=run.pk).first()
        if other and then != State.STOPPED:
            raise Busy(other)
        run.state, run.ended_at = then, None


def step(run: ImportRun, person: Member) -> None:
    """The next step of whatever the run is at by now. Raises FileGone."""
    run.refresh_from_db()
    if run.state in (State.READING, State.GOING) and not shelf.is_here(run):
        raise FileGone
    if run.state == State.READING:
        reading.read_on(run, person)
    elif run.state in (State.GOING, State.BACK):
        with _locked(run) as run:
            STEPS.get(run.state, _nothing)(run, person)


def match(run: ImportRun, columns: Sequence[str | None]) -> Unreadable | None:
    """Take the columns for these, and read again. Answers with what is wrong with them, or nothing."""
    with _locked(run) as run:
        if run.state not in BEFORE_IT or (run.state != State.COLUMNS and run.columns == list(columns)):
            return None
        if not shelf.is_here(run):
            raise FileGone
        return reading.set_columns(run, columns)


def forget(run: ImportRun) -> bool:
    """Throw a file away of which nothing was brought in. Answers whether that was so."""
    with _locked(run) as run:
        if run.state not in BEFORE_IT:
            return False
        run.delete()
    shelf.throw_away(run)
    return True


@contextmanager
def _locked(run: ImportRun) -> Iterator[ImportRun]:
    """The run as it is now, nobody else at it; kept as it then is. The ledger is locked first, as everywhere."""
    head()
    with transaction.atomic():
        Ledger.objects.select_for_update().get(pk=1)
        fresh = ImportRun.objects.select_for_update().get(pk=run.pk)
        yield fresh
        if fresh.pk:
            fresh.save()


def _bring_in(run: ImportRun, person: Member) -> None:
    with shelf.lines_of(run) as file:
        lines = reading.lines_from(file, run.place, 1, 1)
        if lines:
            lines = reading.lines_from(file, run.place, _at_once(lines[0]), LARGEST)
        reading.leave_out(file, _take(run, lines, person))
        run.bad = reading.bad_count(file)
    if run.place >= run.lines:
        run.state, run.ended_at = State.DONE, timezone.now()
        transaction.on_commit(lambda: shelf.keep_bad_lines_only(run))


def _take(run: ImportRun, lines: list[Found], person: Member) -> list[Bad]:
    """Take lines into the ledger, and count them. Answers with those that stay out."""
    if run.place == 0:
        run.here_already = 0  # until now it said how many there would be
    new = not_here(lines)
    receipts = take_in(new, person) if new else []
    taken = [receipt.uid for receipt in receipts if receipt.state == "accepted"]
    if rows := sorted(Entry.objects.filter(uid__in=taken).values_list("pk", flat=True)):
        ImportPart.objects.create(run=run, first=rows[0], last=rows[-1])
    left_out = [receipt for receipt in receipts if receipt.state not in ("accepted", "known")]
    run.place += len(lines)
    run.went_in += len(taken)
    run.here_already += len(lines) - len(taken) - len(left_out)
    return [
        Bad.told(line.line, receipt.reason) for line, receipt in zip(new, receipts, strict=True) if receipt in left_out
    ]


def _take_back(run: ImportRun, person: Member) -> None:
    last = taking_back.still_in(run, 1)
    if last:
        most = _replayed_again(str(last[0].site.uid), last[0].effective_at)
        taking_back.withdraw(run, taking_back.still_in(run, most), person)
    if not run.parts.exists():
        run.state, run.ended_at = State.GONE, timezone.now()
        transaction.on_commit(lambda: shelf.throw_away(run))


def _nothing(run: ImportRun, person: Member) -> None:
    """Somebody else stopped it meanwhile."""


STEPS: dict[str, Callable[[ImportRun, Member], None]] = {State.GOING: _bring_in, State.BACK: _take_back}


def _at_once(first: Found) -> int:
    return _replayed_again(first.raw["site"], datetime.fromisoformat(first.raw["occurred_at"]))


def _replayed_again(site: str, at: datetime) -> int:
    """How many lines a step takes: a quarter of what its site has to replay after them, within bounds."""
    later = Entry.objects.filter(bay__site__uid=site, effective_at__gt=at).count()
    return min(MOST_AT_ONCE, max(BATCH, later // 4))
