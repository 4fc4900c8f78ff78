"""Many random stories at the door: `manage.py faults --states [STORIES] [--steps N] [--seed N]`."""

import sys
import tempfile
import time

import django

from tests.faults.telling import counted, parser_of, tell

STORIES, STEPS = 2_000, 100


def main(given: list[str]) -> int:
    """As the command has it. The seed, and how many steps were taken, are printed."""
    parser = parser_of("--states", __doc__)
    parser.add_argument("stories", type=int, nargs="?", default=STORIES)
    parser.add_argument("--steps", type=int, default=STEPS)
    parser.add_argument("--seed", type=int, default=int(time.time()))
    options = parser.parse_args(given)
    sys.stderr.write(f"Seed {options.seed}\n")
    django.setup()
    began = time.monotonic()
    taken = _told(options.stories, options.steps, options.seed)
    told = {"seed": options.seed, "stories": options.stories, "steps wanted": options.steps, "steps taken": taken}
    wrong = {"lost, doubled or counted wrongly": 0}  # else it has ended above, with the shortest such story
    return tell(options, "states", counted("stories at the door", told, wrong, time.monotonic() - began))


def _told(stories: int, steps: int, seed: int) -> int:
    """Tell them to a database of their own; the number of steps. Raises what the shortest wrong story raises."""
    from django.db import connection
    from hypothesis import HealthCheck, settings
    from hypothesis import seed as seeded
    from hypothesis.stateful import run_state_machine_as_test

    from tests.faults.door.machine import DoorStates

    trying = settings(
        max_examples=stories,
        stateful_step_count=steps,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    with tempfile.TemporaryDirectory() as folder:
        connection.settings_dict["TEST"]["NAME"] = f"{folder}/states.sqlite3"
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        run_state_machine_as_test(seeded(seed)(DoorStates), settings=trying)
        connection.close()
    return DoorStates.taken


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
