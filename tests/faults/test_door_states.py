"""Random stories told to the real door and to a model. `manage.py faults --states` tells more of them."""

import pytest
from hypothesis import settings
from hypothesis.stateful import run_state_machine_as_test

from tests.faults.bases import on_postgresql
from tests.faults.door.machine import DoorStates

pytestmark = [pytest.mark.django_db, pytest.mark.ledger]


def test_no_story_loses_or_doubles_an_entry_or_shows_a_wrong_total() -> None:
    stories = 40 if on_postgresql() else 200
    trying = settings(settings.get_profile("shared machine"), max_examples=stories, stateful_step_count=50)
    run_state_machine_as_test(DoorStates, settings=trying)
