"""What several tests of what is on the ground share."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from heaps.foreseeing import ground
from heaps.models import own
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.living import outlook


@pytest.fixture
def few_and_short(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forecasts of few members and a short way ahead show all that is asked of pages, and quicker."""
    monkeypatch.setattr(ground, "MEMBERS", 12)
    monkeypatch.setattr(outlook, "AHEAD_DAYS", 60)
    monkeypatch.setattr(outlook, "LEAF_AHEAD_DAYS", 60)


@pytest.fixture
def never_from_now_on(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """A later release's list no longer takes a material that this one takes."""

    def strike_off(key: str) -> None:
        monkeypatch.setitem(FEEDSTOCKS, key, replace(FEEDSTOCKS[key], acceptance="never"))
        monkeypatch.setattr(own, "_compiled", own._compiled.__wrapped__)  # a release starts with nothing compiled

    return strike_off
