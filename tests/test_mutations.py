"""Every breakage on the list can be applied, and names a test that is there."""

import ast
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from cooperative.management.commands.mutations import ENGINES, Mutation, mutations

HOME = Path(__file__).parent.parent


@pytest.mark.parametrize("mutation", mutations(), ids=lambda one: f"{one.file}: {one.why}")
def test_a_breakage_can_be_applied(mutation: Mutation) -> None:
    assert (HOME / mutation.file).read_text().count(mutation.find) == 1
    assert mutation.replace != mutation.find
    assert mutation.on in ENGINES
    file, *place = mutation.test.partition("[")[0].split("::")
    assert place, "name one test, not a whole file"
    names = {
        node.name
        for node in ast.walk(ast.parse((HOME / file).read_text()))
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
    }
    assert set(place) <= names


def test_a_word_that_is_in_none_breaks_nothing_and_runs_nothing() -> None:
    with pytest.raises(CommandError, match="No breakage"):
        call_command("mutations", "no such word")
