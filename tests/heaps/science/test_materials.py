"""A cooperative's own values: the latest decision that covers a moment holds, and nothing can loosen the table."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.science.feedstocks import FEEDSTOCKS, STRICTNESS, strictness
from heaps.science.materials import OWN, PUBLISHED, Decision, strange_figure, with_own

MAY = datetime(2026, 5, 1, tzinfo=UTC)
HOPS = f"{OWN}000000000001"
MADE = (Decision(HOPS, "relative", words="coffee"), Decision(HOPS, "name", words="Hops"))
moments = st.integers(0, 300).map(lambda days: MAY + timedelta(days=days))
told = st.tuples(st.none() | st.integers(5, 3000), st.none() | moments)


def test_no_key_of_the_table_can_be_an_own_material_s() -> None:
    assert not [key for key in FEEDSTOCKS if key.startswith(OWN)]


def test_without_decisions_everything_is_as_published() -> None:
    assert dict(PUBLISHED) == FEEDSTOCKS == dict(PUBLISHED.listed)
    assert all(PUBLISHED.density_kg_m3(key, MAY) == one.density_kg_m3 for key, one in FEEDSTOCKS.items())


@given(st.lists(told, max_size=6), moments)
def test_the_latest_decision_that_covers_a_moment_holds(
    decisions: list[tuple[int | None, datetime | None]], at
) -> None:
    known = with_own(Decision("coffee", "density", number, since=since) for number, since in decisions)
    expected = FEEDSTOCKS["coffee"].density_kg_m3
    for number, since in decisions:
        if since is None or since <= at:
            expected = number or FEEDSTOCKS["coffee"].density_kg_m3
    assert known.density_kg_m3("coffee", at) == expected
    assert known.wet_g("coffee", 10_000, at) == expected * 10
    assert known.density_kg_m3("cardboard", at) == FEEDSTOCKS["cardboard"].density_kg_m3


@given(st.lists(told, max_size=4))
def test_one_that_gives_the_published_back_leaves_nothing_of_the_others(decisions) -> None:
    rows = [Decision("coffee", "density", number, since=since) for number, since in decisions]
    known = with_own([*rows, Decision("coffee", "density")])
    assert known["coffee"] == FEEDSTOCKS["coffee"]
    assert {known.density_kg_m3("coffee", MAY + timedelta(days=day)) for day in (-9, 0, 9, 400)} == {
        FEEDSTOCKS["coffee"].density_kg_m3
    }


def test_an_own_value_stands_with_the_published_one_beside_it() -> None:
    stuff = with_own([Decision("coffee", "moisture", 50, reason="dried in May")])["coffee"]
    value, published = stuff.moisture_fraction, FEEDSTOCKS["coffee"].moisture_fraction
    assert value and value.typical == 0.5 and value.published == published
    assert (value.source, value.evidence) == ("dried in May", "own")
    assert value.low <= 0.5 <= value.high


@given(st.sampled_from(sorted(FEEDSTOCKS)), st.sampled_from([*STRICTNESS, "", "odd"]))
def test_no_decision_loosens_the_table(key: str, word: str) -> None:
    listed = FEEDSTOCKS[key].acceptance
    made = (Decision(HOPS, "relative", words=key), Decision(HOPS, "gate", words=word, reason="so"))
    known = with_own([Decision(key, "gate", words=word, reason="so"), *made])
    for one in (key, HOPS):
        assert strictness(known[one].acceptance) >= strictness(listed)
        if word in STRICTNESS:
            assert strictness(known[one].acceptance) == max(strictness(word), strictness(listed))


def test_an_own_material_is_its_relative_but_for_what_differs() -> None:
    known = with_own([*MADE, Decision(HOPS, "density", 300), Decision("coffee", "density", 900)])
    hops, coffee = known[HOPS], FEEDSTOCKS["coffee"]
    assert (hops.key, hops.short, hops.name, hops.density_kg_m3) == (HOPS, "Hops", "Hops", 300)
    assert (hops.c_to_n, hops.ash_class, hops.acceptance) == (coffee.c_to_n, coffee.ash_class, coffee.acceptance)
    assert known.listed[HOPS].density_kg_m3 == coffee.density_kg_m3
    assert [one.key for one in known.offered()] == [*FEEDSTOCKS, HOPS]
    gone = with_own([*MADE, Decision(HOPS, "offered", words="no")])
    assert [one.key for one in gone.offered()] == [*FEEDSTOCKS] and HOPS in gone
    again = with_own([*MADE, Decision(HOPS, "offered", words="no"), Decision(HOPS, "offered", words="yes")])
    assert HOPS in [one.key for one in again.offered()]


@pytest.mark.parametrize(
    "odd",
    [
        Decision("moon-dust", "density", 200),
        Decision("coffee", "density", 4),
        Decision("coffee", "density", 3_001),
        Decision("coffee", "moisture", 99.5),
        Decision("nappies", "density", 200),
        Decision("wood-ash", "c_to_n", 20),
        Decision("coffee", "colour", 3),
        Decision("coffee", "relative", words="cardboard"),
        Decision(f"{OWN}1", "relative", words=HOPS),
        Decision(f"{OWN}1", "name", words="Nothing"),
    ],
)
def test_what_is_not_possible_is_passed_over(odd: Decision) -> None:
    known = with_own([*MADE, odd])
    usual = with_own(MADE)
    assert dict(known) == dict(usual)
    assert known.densities == usual.densities


def test_the_relative_of_an_own_material_stays() -> None:
    known = with_own([*MADE, Decision(HOPS, "relative", words="cardboard")])
    assert known.relatives == {HOPS: "coffee"}


def test_a_figure_outside_what_the_sources_give_is_strange() -> None:
    grass = FEEDSTOCKS["grass-fresh"]
    assert grass.bulk_density_kg_m3 and grass.moisture_fraction
    assert [strange_figure("density", one, grass.bulk_density_kg_m3) for one in (177, 178, 237, 238)] == [
        True, False, False, True,
    ]  # fmt: skip
    assert not strange_figure("moisture", 80, grass.moisture_fraction)
    assert strange_figure("moisture", 60, grass.moisture_fraction)
