"""One drop-off on the server goes the way that DEVELOPERS.md lists, and no other: watched while it happens."""

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from django.test import Client
from django.urls import resolve, reverse

from heaps.models import Bay
from members.models import Member
from tests.hops import MOST, hops, on_the_server
from tests.sendings import NOON, load

YEAR_CSV = reverse("heaps:year_csv", args=[2026])
OURS = ("heaps", "members", "cooperative")
Calls = list[tuple[tuple[str, str], str]]


@contextmanager
def watching(calls: Calls) -> Iterator[None]:
    """Note each call of a listed function, with the module of ours that it was called from."""
    listed = set(on_the_server())

    def note(frame: FrameType, event: str, _what: object) -> None:
        if event == "call" and (called := name_of(frame)) in listed:
            calls.append((called, caller_of(frame)))

    sys.setprofile(note)
    try:
        yield
    finally:
        sys.setprofile(None)


def name_of(frame: FrameType) -> tuple[str, str]:
    """The module and function that a frame runs."""
    return frame.f_globals.get("__name__", ""), frame.f_code.co_name


def caller_of(frame: FrameType) -> str:
    """The next of our own modules up the stack: what stands between is Django's or Python's."""
    at = frame.f_back
    while at and not name_of(at)[0].startswith(OURS):
        at = at.f_back
    return name_of(at)[0] if at else ""


def test_it_is_at_most_eight_hops() -> None:
    assert 4 < len(hops()) <= MOST


def test_it_goes_from_one_listed_hop_straight_to_the_next(
    bay: Bay, treasurer: Member, client_of: Callable[[Member], Client]
) -> None:
    client = client_of(treasurer)
    entry = load(bay)
    letter = {
        "wire": 1, "device": entry["uid"], "person": str(treasurer.uid), "sent_at": NOON.isoformat(), "waiting": 1,
        "entries": [entry],
    }  # fmt: skip
    calls: Calls = []
    with watching(calls):
        answer = client.post("/sync/", json.dumps(letter), content_type="application/json")
        sheet = b"".join(client.get(YEAR_CSV).streaming_content).decode()  # type: ignore[attr-defined]  # a stream
    assert json.loads(answer.content)["receipts"][0]["state"] == "accepted"
    assert "Grass clippings" in sheet
    order = list(dict.fromkeys(called for called, _by in calls))
    door, accept, history, page, report = on_the_server()
    assert sorted(order) == sorted(on_the_server())
    assert order[:3] == [door, accept, history]
    by = dict(reversed(calls))
    assert (by[accept], by[history], by[report]) == (door[0], accept[0], page[0])
    assert {resolve("/sync/").func.__module__, resolve(YEAR_CSV).func.__module__} == {door[0], page[0]}
