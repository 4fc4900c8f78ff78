"""The commands that check: which steps there are, what stops them, and what they say when a program is missing."""

from collections.abc import Callable
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from cooperative.management.commands import mutations, test, verify
from tests import chromium, postgres


def test_verify_runs_every_step_and_names_those_that_found_something(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[str] = []

    def step(name: str, problem: str) -> Callable[[], str]:
        return lambda: seen.append(name) or problem  # type: ignore[func-returns-value]  # append gives None

    steps = {"first": step("first", ""), "second": step("second", "It is crooked."), "third": step("third", "")}
    monkeypatch.setattr(verify, "steps", lambda: steps)
    out = StringIO()
    with pytest.raises(CommandError, match=r"^Found something: second\.$"):
        call_command("verify", stdout=out)
    assert seen == ["first", "second", "third"]
    assert [line.split()[0] for line in out.getvalue().splitlines()] == ["ok", "FAILED", "It", "ok"]


def test_a_step_tells_what_a_failing_program_said() -> None:
    assert verify.tool("ruff", "--version")() == ""
    assert "unrecognized subcommand" in verify.tool("ruff", "chek")()


@pytest.mark.parametrize("mode", ["host", "production", ""])
def test_host_settings_without_a_key_do_not_start(mode: str) -> None:
    said = verify.problem_of([*verify.MANAGE, "check"], HEAPS_MODE=mode, SECRET_KEY="", HEAPS_CHECKS="")
    assert said.strip().startswith("Set SECRET_KEY") and "Traceback" not in said


def test_without_chromium_outside_ci_the_line_to_run_is_printed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(test, "missing", lambda: ["chromium"])
    monkeypatch.setattr(test, "in_a_container", lambda: False)
    monkeypatch.delenv("CI", raising=False)
    assert test.everything(set(), []) == 2
    assert "apt-get install -y --no-install-recommends chromium" in capsys.readouterr().err


def test_in_ci_what_is_missing_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    commands: list[list[str]] = []
    monkeypatch.setattr(test, "missing", lambda: [] if len(commands) >= 2 else ["chromium", "postgresql"])
    monkeypatch.setattr(test, "run", lambda command, **environment: commands.append(command) or 0)
    monkeypatch.setenv("CI", "true")
    assert test.ready(may_install=False)
    plain = [command[command[0] == "sudo" :] for command in commands]
    assert plain[:2] == [["apt-get", "update"], [*test.INSTALL, "chromium", "postgresql"]]
    assert plain[2:] == [[*test.INSTALL, chromium.SHELL]]


def test_a_run_that_finds_no_test_on_postgresql_fails(tmp_path: Path) -> None:
    code = test.run([*test.PYTEST, "-m", "no_such_mark", "tests/cooperative"], HEAPS_VAR=str(tmp_path))
    assert code != 0


def test_the_worst_part_decides(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(test, "ready", lambda may_install: True)
    monkeypatch.setattr(test, "on_postgresql", lambda var, further: 5)
    monkeypatch.setenv("HEAPS_PROOFS", "given back after this test")
    for verified, tested, worst in ((0, 0, 5), (9, 1, 9)):
        codes = iter([verified, tested])
        monkeypatch.setattr(test, "run", lambda command, codes=codes, **environment: next(codes))
        assert test.everything(set(), []) == worst


def test_a_private_cluster_leaves_nothing_behind() -> None:
    with postgres.private_cluster() as url:
        home = Path(url.split("@")[1].split("/")[0].replace("%2F", "/"))
        assert home.is_dir()
    assert not home.exists()


def test_a_breakage_that_no_test_notices_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "pyproject.toml").write_text(
        '[tool.pytest.ini_options]\naddopts = "-p no:django"\npythonpath = ["."]\n'
    )
    (tmp_path / "numbers_.py").write_text("two = 2\nthree = 3\n")
    (tmp_path / "test_two.py").write_text("from numbers_ import two\n\n\ndef test_two():\n    assert two == 2\n")
    two = mutations.Mutation("numbers_.py", "two = 2", "two = 4", "test_two.py::test_two", "two is wrong")
    three = mutations.Mutation("numbers_.py", "three = 3", "three = 4", "test_two.py::test_two", "three is wrong")
    out = StringIO()
    monkeypatch.setattr(mutations, "HOME", tmp_path)
    monkeypatch.setattr(mutations, "mutations", lambda: [two, three])
    with pytest.raises(CommandError, match="Some breakages are not noticed"):
        call_command("mutations", stdout=out)
    said = out.getvalue().splitlines()
    assert said[0].startswith("killed ")
    assert said[1].startswith("SURVIVED ")
    assert (tmp_path / "numbers_.py").read_text() == "two = 2\nthree = 3\n"
