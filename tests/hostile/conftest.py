"""The cast on a ground with a few rows of everything, harmless until a test fills them."""

from collections.abc import Callable

import pytest
from django.test import Client

from heaps.models import Site
from members.models import Member
from tests.hostile import ground
from tests.test_access import Browsers, browsers  # noqa: F401 - a fixture, taken over as it is

ROWS = 6


@pytest.fixture
def laid(browsers: Browsers, site: Site, other_member: Member) -> Browsers:  # noqa: F811 - it asks for the fixture
    """Browsers of all roles, on a ground that is laid out."""
    ground.lay(ROWS)
    return browsers


@pytest.fixture
def highest(client_of: Callable[[Member | None], Client], administrator: Member) -> Client:
    """The browser of somebody who holds every role."""
    Member.objects.filter(pk=administrator.pk).update(is_coordinator=True, is_treasurer=True)
    return client_of(administrator)
