"""The panel: written cases with the advice that an experienced composter would give. See the head of `panel.toml`."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from heaps.science.advice import Signs, need
from heaps.science.blend import Mix
from heaps.science.diagnosis import Seen, diagnosis
from heaps.science.feedstocks import FEEDSTOCKS, SOURCES
from heaps.science.fewest import Pile, added
from heaps.science.hot_heap import obstacles
from heaps.science.recipe import Recipe, cans, recipe, usually_found
from heaps.science.targets import as_felt, in_range
from tests.piles import pile

PANEL: list[dict[str, Any]] = tomllib.loads(Path(__file__).with_name("panel.toml").read_text(encoding="utf-8"))["case"]
LEAST_CASES = 30


def asking(what: str) -> Any:
    cases = [one for one in PANEL if what in one]
    return pytest.mark.parametrize("case", cases, ids=[one["name"] for one in cases])


def heap(case: dict[str, Any]) -> Mix:
    return added(Mix(), [(pile(key, litres, 1), 1) for key, litres in case["heap"].items()])


def stock(case: dict[str, Any]) -> list[Pile]:
    container_l = case.get("container_l", 80)
    piles = [pile(key, container_l, int(litres // container_l)) for key, litres in case.get("stock", {}).items()]
    return [*piles, cans(10, case["water_cans"])] if "water_cans" in case else piles


def asked(case: dict[str, Any]) -> Recipe:
    mix = as_felt(heap(case), case.get("squeeze"))
    return recipe(mix, stock(case), usually_found(case.get("container_l", 80), 10))


def seen(case: dict[str, Any]) -> Seen:
    known = ("squeeze", "volume_l", "days_since_turn", "month", "covered", "hottest_c", "ready")
    read = {key: case[key] for key in known if key in case}
    return Seen(mix=heap(case), materials=frozenset(case["heap"]), **read)


def differs(case: dict[str, Any], what: str) -> Any:
    """What the programme is known to say instead; the test then holds it to that, so that a change is noticed."""
    return case.get("differs", {}).get(what)


@asking("need")
def test_the_line_on_the_board(case: dict[str, Any]) -> None:
    said = need(heap(case), Signs(squeeze=case.get("squeeze")), "filling", FEEDSTOCKS["cardboard"], 80).code
    assert said == (differs(case, "need") or case["need"])


@asking("recipe")
def test_the_recipe(case: dict[str, Any]) -> None:
    found = asked(case)
    assert found.outcome == (differs(case, "recipe") or case["recipe"])
    for choice in found.choices:
        assert in_range(choice.mix, choice.targets)
    if found.choices and not differs(case, "recipe"):
        best = found.choices[0]
        assert set(differs(case, "uses") or case.get("uses", ())) <= set(best.counts)
        assert best.containers <= case.get("most", 99), best.counts


@asking("sign")
def test_the_first_cause(case: dict[str, Any]) -> None:
    assert diagnosis(case["sign"], seen(case)).causes[0].cause == (differs(case, "cause") or case["cause"])


@asking("hot")
def test_what_keeps_it_cold(case: dict[str, Any]) -> None:
    assert list(obstacles(heap(case))) == case["hot"]


def test_the_panel_is_large_and_every_case_says_why() -> None:
    assert len(PANEL) >= LEAST_CASES
    assert len({one["name"] for one in PANEL}) == len(PANEL)
    for case in PANEL:
        cited = set(re.findall(r"[A-Z]+[A-Z0-9]*(?:-[A-Z0-9]+)*", case["why"])) & set(SOURCES)
        assert cited or "common practice" in case["why"] or "from memory" in case["why"], case["name"]
        assert set(case["heap"]) <= set(FEEDSTOCKS)
        assert "because" in case.get("differs", {"because": ""}), case["name"]
