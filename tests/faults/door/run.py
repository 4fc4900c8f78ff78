"""Many random stories at the door: `manage.py faults --states [STORIES] [--steps N] [--seed N]`."""

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path

import django

STORIES, STEPS = 2_000, 100


def main(given: list[str]) -> int:
    """As the command has it. The seed, and how many steps were taken, are printed and kept."""
    parser = argparse.ArgumentParser(prog="manage.py faults --states")
    parser.add_argument("stories", type=int, nargs="?", default=STORIES)
    parser.add_argument("--steps", type=int, default=STEPS)
    parser.add_argument("--seed", type=int, default=int(time.time()))
    parser.add_argument("--figures", type=Path, help="a file for what was found")
    options = parser.parse_args(given)
    sys.stdout.write(f"Seed {options.seed}\n")
    django.setup()
    began = time.monotonic()
    taken = _told(options.stories, options.steps, options.seed)
    found = {
        "command": f"manage.py faults --states {options.stories} --steps {options.steps} --seed {options.seed}",
        "stories": options.stories,
        "steps truly taken": taken,
        "seed": options.seed,
        "lost, doubled or counted wrongly": 0,  # else it has ended above, with the shortest such story
        "seconds": round(time.monotonic() - began),
    }
    said = json.dumps(found, indent=1)
    sys.stdout.write(said + "\n")
    if options.figures:
        options.figures.write_text(said + "\n", encoding="utf-8")
    return 0


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
