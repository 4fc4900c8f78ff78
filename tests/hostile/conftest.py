"""The cast on a ground with a few rows of everything, harmless until a test fills them."""

from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client

from heaps.models import Site
from members.models import Member
from tests.hostile import ground
from tests.test_access import PAGES, ROLES, Browsers, address, browsers, declared, other_site, standing_on_the_ground

__all__ = ["browsers", "other_site"]  # fixtures, taken over as they are
ROWS = 4


@dataclass(frozen=True)
class Laid:
    """Browsers of all roles, and where each page of the table is for each role: looked up while names are plain."""

    browsers: Browsers
    places: dict[tuple[int, str], str]

    def get(self, number: int, role: str, more: str = "") -> Any:
        """The answer to somebody who opens a page of the table."""
        return self.browsers[role].get(self.places[number, role] + more)


@pytest.fixture
def peopled(browsers: Browsers, other_site: Site, other_member: Member) -> Laid:
    """The usual ground, with nothing on it but what other tests have, too."""
    finding = {role: standing_on_the_ground(role) for role in ROLES}
    places = {
        (number, role): address(page, role, finding=finding[role])
        for number, page in enumerate(PAGES)
        for role in ROLES
    }
    return Laid(browsers, places)


@pytest.fixture
def laid(peopled: Laid) -> Laid:
    """A few rows of everything there is."""
    ground.lay(ROWS)
    return peopled


@pytest.fixture
def highest(peopled: Laid) -> Client:
    """The browser of somebody who holds every role."""
    Member.objects.filter(username="edda").update(is_coordinator=True, is_treasurer=True)
    return peopled.browsers["administrator"]


def who_may(page: dict[str, Any], method: str) -> list[str]:
    """The roles that are let in, the highest last."""
    return sorted(
        (role for role in ROLES if declared(page, method, role) < 400), key=lambda one: one == "administrator"
    )
