"""What a long run found is added to what earlier ones found, and a counter that is not 0 fails it."""

import argparse
import json
from pathlib import Path

import pytest

from tests.faults import telling


@pytest.mark.parametrize(("lost", "code"), [(0, 0), (2, 1)])
def test_each_kept_run_has_a_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lost: int, code: int) -> None:
    monkeypatch.setattr(telling, "FIGURES", tmp_path)
    given = argparse.Namespace(keep=True, json=False)
    for seed in (1, 8):
        figures = telling.counted("letters", {"first seed": seed, "bodies": 7}, {"lost": lost}, 1.5)
        assert telling.tell(given, "some", figures) == code
    lines = (tmp_path / "faults-some.jsonl").read_text().splitlines()
    kept = [{"first seed": seed, "bodies": 7, "time": 1.5, "lost": lost} for seed in (1, 8)]
    assert [json.loads(line) for line in lines] == kept
