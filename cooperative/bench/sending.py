"""What phones send: rows a second through the door against the bare statement and against the obvious way, and whether
a sending or the board costs more when the ledger is a hundred times as long.

The bare statement and the obvious way write into the same table, at a site of their own, so that indexes, checks and
pragmas are the same. The database lies where this installation keeps its own: a commit waits for that disk.
"""

import json
import os
import sqlite3
import time
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from datetime import timedelta
from pathlib import Path
from statistics import median
from typing import Any

from django.conf import settings
from django.db import connection
from django.test import Client, override_settings
from django.utils import timezone

from cooperative.bench import obvious, years
from cooperative.bench.board import own_database
from cooperative.bench.figures import Figure, compared
from heaps import history
from heaps.models import Bay, Entry, Site
from heaps.sync import Sending, accept
from members.models import Member

OF_RAW = {20: None, 50: 0.20, 500: 0.35}
OVER_OBVIOUS, KNOWN, GROWTH, BOARD_GROWTH = 6, 0.6, 1.5, 1.15
YOUNG = 10_000
LETTER = 50
BACK = timedelta(days=20)  # the ledger ends so long ago; what is sent here comes after it
Times = dict[str, list[float]]
Way = Callable[["Phone", int], float]


def figures(rounds: int, entries: int) -> Iterator[Figure]:
    """Measure in this process, each way in turn."""
    yield Figure(f"sync: measured on {machine()}", os.cpu_count() or 1, "cores")
    with override_settings(ROOT_URLCONF="cooperative.bench.obvious", ALLOWED_HOSTS=["testserver"]):
        with own_database(settings.VAR_DIR):
            years.fill(YOUNG, timezone.now() - BACK)
            yield from _against_others(Phone(), rounds)
        yield from _grown(rounds, entries)


def machine() -> str:
    """What the figures were measured on."""
    disk = settings.VAR_DIR.stat().st_dev
    kind = next((line.split()[2] for line in _mounts() if Path(line.split()[1]).stat().st_dev == disk), "unknown disk")
    return f"SQLite {sqlite3.sqlite_version}, {kind}"


def _mounts() -> list[str]:
    lines = Path("/proc/mounts").read_text().splitlines() if Path("/proc/mounts").exists() else []
    return [line for line in lines if Path(line.split()[1]).exists()]


class Phone:
    """A volunteer's phone. Each letter is from the next site, and later than all that is known there."""

    def __init__(self) -> None:
        self.person = Member.objects.order_by("username")[0]
        size = {"length_cm": 100, "width_cm": 100, "height_cm": 100}
        aside = Site.objects.create(name="Aside")
        Bay.objects.create(site=aside, name="Bay 1", position=1, **size)
        sites = Site.objects.order_by("name").prefetch_related("bays", "containers")
        self.aside, *self.sites = sites
        self.at = 0
        self.clock = timezone.now() - BACK + timedelta(days=1)
        self.browser = Client()
        self.browser.force_login(self.person)

    def entries(self, count: int) -> list[dict[str, Any]]:
        """Loads, and now and then a reading, water, or bags fetched; some seconds lie between two."""
        self.at = (self.at + 1) % len(self.sites)
        return [self._entry(place) for place in range(count)]

    def _entry(self, place: int) -> dict[str, Any]:
        self.clock += timedelta(seconds=20)
        kind, details = {
            7: ("reading", {"temp_tenths_c": 400 + place % 100}),
            8: ("water", {"volume_ml": 10_000}),
            9: ("collection", {"half_bags": 2, "bag_ml": 40_000}),
        }.get(place % 10, ("dropoff", self._load(place)))
        site = self.sites[self.at]
        bay = None if kind == "collection" else str(site.bays.all()[place % 2].uid)
        return {
            "wire": 1, "uid": str(uuid.uuid4()), "kind": kind, "site": str(site.uid), "bay": bay,
            "occurred_at": self.clock.isoformat(), "by_hand": False, "details": details, "words": "",
        }  # fmt: skip

    def _load(self, place: int) -> dict[str, Any]:
        feedstock = years.MATERIALS[place % len(years.MATERIALS)]
        bucket = self.sites[self.at].containers.all()[0]
        container = {"container_ml": bucket.filled_ml, "container": str(bucket.uid)}
        return {"feedstock": feedstock, "half_containers": 1 + place % 8} | container

    def letter(self, entries: Sequence[Mapping[str, Any]]) -> str:
        """What goes over the wire."""
        now = timezone.now().isoformat()
        head = {"wire": 1, "device": str(uuid.UUID(int=7)), "person": str(self.person.uid), "sent_at": now}
        return json.dumps(head | {"waiting": len(entries), "entries": entries})

    def post(self, where: str, letter: str, state: str) -> float:
        """How many milliseconds the answer took. Each receipt must say `state`."""
        began = time.perf_counter()
        answer = self.browser.post(where, letter, content_type="application/json")
        took = 1_000 * (time.perf_counter() - began)
        if {receipt["state"] for receipt in answer.json()["receipts"]} != {state}:
            raise AssertionError(f"Not {state}: {answer.content!r}")
        return took


def door(phone: Phone, count: int) -> float:
    """Through the address that phones send to; more than a letter holds straight through the door behind it."""
    entries = phone.entries(count)
    if count <= LETTER:
        return phone.post("/sync/", phone.letter(entries), "accepted")
    body = json.dumps(entries)
    began = time.perf_counter()
    now = timezone.now()
    receipts = accept(json.loads(body), Sending(phone.person, uuid.UUID(int=7), sent_at=now, received_at=now))
    took = 1_000 * (time.perf_counter() - began)
    if {receipt.state for receipt in receipts} != {"accepted"}:
        raise AssertionError(f"Not accepted: {receipts}")
    return took


def late(phone: Phone, count: int) -> float:
    """A letter from before the last that its site knows, so that its heaps must be replayed from a checkpoint on."""
    entries = phone.entries(count)
    phone.at -= 1
    phone.post("/sync/", phone.letter(phone.entries(count)), "accepted")
    return phone.post("/sync/", phone.letter(entries), "accepted")


def known(phone: Phone, count: int) -> float:
    """A letter that has been taken before."""
    letter = phone.letter(phone.entries(count))
    phone.post("/sync/", letter, "accepted")
    return phone.post("/sync/", letter, "known")


def obvious_way(phone: Phone, count: int) -> float:
    """One question and one row after the other, as Django's guides have it; each row is a commit of its own."""
    return phone.post("/obvious/", phone.letter(_aside(phone, count)), "accepted")


def obvious_at_once(phone: Phone, count: int) -> float:
    """The same within one transaction."""
    return phone.post("/obvious/at-once/", phone.letter(_aside(phone, count)), "accepted")


def _aside(phone: Phone, count: int) -> list[dict[str, Any]]:
    moved = {"site": str(phone.aside.uid), "bay": str(phone.aside.bays.all()[0].uid)}
    return [entry | moved for entry in phone.entries(count)]


def bare(phone: Phone, count: int) -> float:
    """Rows that are ready, from JSON, by one prepared statement in one transaction."""
    fields = [field for field in Entry._meta.concrete_fields if not field.primary_key]
    rows = obvious.rows(_aside(phone, count), phone.person)
    body = json.dumps([[_as_text(field, getattr(row, field.attname)) for field in fields] for row in rows])
    names = ", ".join(connection.ops.quote_name(field.attname) for field in fields)
    marks = ", ".join("?" * len(fields))
    statement = f"INSERT INTO heaps_entry ({names}) VALUES ({marks})"  # noqa: S608 - names of our fields
    connection.ensure_connection()
    began = time.perf_counter()
    raw = connection.connection
    raw.execute("BEGIN IMMEDIATE")
    raw.executemany(statement, json.loads(body))
    raw.execute("COMMIT")
    return 1_000 * (time.perf_counter() - began)


def _as_text(field: Any, value: Any) -> Any:
    prepared = None if value is None else field.get_db_prep_save(value, connection)
    return prepared if isinstance(prepared, (int, str, type(None))) else str(prepared)


def _against_others(phone: Phone, rounds: int) -> Iterator[Figure]:
    for count, least in OF_RAW.items():
        ways: tuple[Way, ...] = (bare, door) if count > LETTER else (bare, door, known, obvious_way, obvious_at_once)
        times = _in_turns(phone, ways, count, rounds)
        yield _rows(f"sync: rows a second, {count} at once, of the bare statement's", count, times, "bare", least)
        if count > LETTER:
            continue
        over = OVER_OBVIOUS if count == LETTER else None
        yield _rows(f"sync: rows a second, {count} at once, of the obvious way's", count, times, "obvious_way", over)
        name = f"sync: rows a second, {count} at once, of the obvious way's in one transaction"
        yield _rows(name, count, times, "obvious_at_once", None)
        bar = KNOWN if count == LETTER else None
        yield compared(f"sync: a known letter of {count} against a first one", times["known"], times["door"], bar)
    yield compared(f"sync: a letter of {LETTER} that is late against one in order", *_late_and_not(phone, rounds), None)
    yield from _without_the_disk(phone, rounds)
    if found := [line for site in phone.sites for line in history.drift(site)]:
        raise AssertionError(found)


def _late_and_not(phone: Phone, rounds: int) -> tuple[list[float], list[float]]:
    times = _in_turns(phone, (late, door), LETTER, rounds)
    return times["late"], times["door"]


def _without_the_disk(phone: Phone, rounds: int) -> Iterator[Figure]:
    """How much of it is waiting for the disk, which hides what the programme itself takes."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=OFF")
        for count in (LETTER, max(OF_RAW)):
            times = _in_turns(phone, (bare, door), count, rounds)
            name = f"sync: rows a second, {count} at once, nothing waits for the disk"
            yield _rows(name, count, times, "bare", None)
        cursor.execute("PRAGMA synchronous=EXTRA")


def _rows(name: str, count: int, times: Times, baseline: str, least: float | None) -> Figure:
    ours, theirs = ([1_000 * count / one for one in times[way]] for way in ("door", baseline))
    spread = f"{min(ours):.0f}-{max(ours):.0f} against {min(theirs):.0f}-{max(theirs):.0f} /s, {len(ours)} rounds"
    return Figure(name, median(ours), "/s", least, median(theirs), spread, at_least=True)


def _in_turns(phone: Phone, ways: Sequence[Way], count: int, rounds: int) -> Times:
    """One way after the other, so that the machine's moods meet all. The first round is not counted."""
    times: Times = {way.__name__: [] for way in ways}
    for number in range(rounds + 1):
        for way in ways if number % 2 else reversed(ways):
            took = way(phone, count)
            if number:
                times[way.__name__].append(took)
    return times


def _grown(rounds: int, entries: int) -> Iterator[Figure]:
    """Two ledgers of one cooperative, a young and an old one, visited in turn."""
    with ExitStack() as open_ones:
        bases = {count: _Base(open_ones, count) for count in (YOUNG, entries)}
        sent: dict[int, list[float]] = {count: [] for count in bases}
        seen: dict[int, list[float]] = {count: [] for count in bases}
        for number in range(rounds + 1):
            for count in sorted(bases, reverse=bool(number % 2)):
                letters, looks = bases[count].visited()
                sent[count] += letters if number else []
                seen[count] += looks if number else []
    lengths = f"{entries:,} entries against {YOUNG:,}"
    yield compared(f"sync: a letter of {LETTER} at {lengths}", sent[entries], sent[YOUNG], GROWTH)
    yield compared(f"board: a look at {lengths}", seen[entries], seen[YOUNG], BOARD_GROWTH)
    for count, base in bases.items():
        yield Figure(f"sync: seconds to write a ledger of {count:,} entries", base.seconds, "s")


class _Base:
    """A database of its own, in which somebody sends and looks at the board."""

    def __init__(self, open_ones: ExitStack, count: int) -> None:
        open_ones.enter_context(own_database(settings.VAR_DIR))
        self.name = connection.settings_dict["NAME"]
        began = time.perf_counter()
        years.fill(count, timezone.now() - BACK)
        self.seconds = time.perf_counter() - began
        self.phone = Phone()

    def visited(self) -> tuple[list[float], list[float]]:
        """Milliseconds of three letters and three looks, after one of each that warms up."""
        connection.close()
        connection.settings_dict["NAME"] = self.name
        letters, looks = [], []
        for _ in range(4):
            letters.append(door(self.phone, LETTER))
            began = time.perf_counter()
            if self.phone.browser.get("/heaps/").status_code != 200:
                raise AssertionError("The board does not open")
            looks.append(1_000 * (time.perf_counter() - began))
        return letters[1:], looks[1:]
