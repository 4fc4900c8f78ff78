"""Three thousand wrong bodies to a real server; a hundred thousand by `manage.py faults --fuzz`."""

from pathlib import Path

from tests.faults.fuzz.run import fuzz

BODIES, SEED = 3_000, 20_260_501


def test_no_body_breaks_the_server_and_no_wrong_entry_goes_in(tmp_path: Path) -> None:
    found = fuzz(BODIES, SEED, tmp_path)
    assert found.faults == [], found.figures()
    assert sum(found.statuses.values()) == BODIES
    assert found.receipts["accepted"] > BODIES / 3, "the good entries beside the wrong ones"
    assert found.receipts["refused"] > BODIES / 3
