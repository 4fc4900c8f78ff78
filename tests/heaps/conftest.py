"""What several tests of what is on the ground share."""

import pytest

from heaps.foreseeing import ground
from heaps.science.living import outlook


@pytest.fixture
def few_and_short(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forecasts of few members and a short way ahead show all that is asked of pages, and quicker."""
    monkeypatch.setattr(ground, "MEMBERS", 12)
    monkeypatch.setattr(outlook, "AHEAD_DAYS", 60)
    monkeypatch.setattr(outlook, "LEAF_AHEAD_DAYS", 60)
