"""Signs and their causes: one table for readers and for sums, and the heap's own numbers ranking it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heaps.guide.signs import SIGNS as CHAPTER
from heaps.ledger import choices
from heaps.science.blend import Mix
from heaps.science.diagnosis import GAUGES, Says, Seen, diagnosis
from heaps.science.feedstocks import FEEDSTOCKS, SOURCES
from heaps.science.fewest import added
from heaps.science.signs import PRACTICE, SIGNS, Cause, of_reading
from tests.piles import pile

RICH = added(Mix(), [(pile("grass-fresh", 40, 1), 8), (pile("leaves-mixed", 40, 1), 1)])
BROWN = added(Mix(), [(pile("straw-wheat", 40, 1), 8), (pile("grass-fresh", 40, 1), 1)])
#: What a heap of one material must hold for a cause to speak of it.
LEAVES = added(Mix(), [(pile("leaves-oak", 40, 1), 8)])


def first(sign: str, seen: Seen) -> tuple[Cause, Says]:
    best = diagnosis(sign, seen).causes[0]
    return best.cause, best.says


def test_the_guide_and_the_table_are_one() -> None:
    assert [part.key for part in CHAPTER.parts] == list(SIGNS)


def test_every_word_of_a_reading_leads_to_a_sign_and_back() -> None:
    assert all(of_reading(word) for word in choices.SIGNS)
    assert {one.recorded for one in SIGNS.values()} - {""} == set(choices.SIGNS)
    assert [one.key for one in of_reading("flies")] == ["fruit-flies", "flies"]


def test_every_row_has_causes_something_to_do_and_sources() -> None:
    for row in SIGNS.values():
        assert row.causes and row.do and row.why and row.how and row.look_again_days >= 1, row.key
        assert all(one in SOURCES or one == PRACTICE for one in (*row.why, *row.how)), row.key
    assert {cause for row in SIGNS.values() for cause in row.causes} == set(Cause) == set(GAUGES)


@pytest.mark.parametrize(
    ("sign", "seen", "cause", "says"),
    [
        ("ammonia", Seen(mix=RICH), Cause.TOO_GREEN, Says.FOR),
        ("ammonia", Seen(mix=added(BROWN, [(pile("wood-ash", 10, 1), 3)])), Cause.LIME_OR_ASH, Says.FOR),
        ("rotten", Seen(mix=RICH, squeeze="holds", covered=False), Cause.SHEETS, Says.FOR),
        ("wet", Seen(mix=BROWN, covered=False, squeeze="drops"), Cause.NO_ROOF, Says.FOR),
        ("dry", Seen(mix=BROWN, squeeze="drops"), Cause.TOO_BROWN, Says.FOR),
        ("cold-sweet", Seen(mix=BROWN), Cause.TOO_BROWN, Says.FOR),
        ("cold-sweet", Seen(mix=RICH, days_since_load=200), Cause.DONE, Says.FOR),
        ("cold-small", Seen(volume_l=600, month=6), Cause.SMALL, Says.FOR),
        ("cold-small", Seen(volume_l=1_500, month=12), Cause.WINTER, Says.FOR),
        ("cooled", Seen(mix=RICH, squeeze="drops", days_since_turn=9), Cause.USED_UP, Says.FOR),
        ("cooled", Seen(mix=RICH, squeeze="dust", days_since_turn=9), Cause.TOO_DRY, Says.FOR),
        ("too-hot", Seen(mix=RICH), Cause.BIG_AND_RICH, Says.FOR),
        ("rats", Seen(mix=BROWN, days_since_turn=60), Cause.QUIET, Says.FOR),
        ("leaves-unchanged", Seen(mix=LEAVES, squeeze="drops"), Cause.TOUGH_LEAVES, Says.FOR),
        ("lumpy", Seen(mix=BROWN, days_since_turn=300), Cause.NEVER_TURNED, Says.FOR),
        ("seedlings", Seen(hottest_c=45), Cause.SEED_LIVED, Says.FOR),
        ("seedlings", Seen(hottest_c=62), Cause.SEED_LIVED, Says.NOTHING),
        ("shoots", Seen(materials=frozenset({"weed-roots"})), Cause.ROOTS_LIVE, Says.FOR),
        ("yellow", Seen(mix=BROWN, ready=True), Cause.TOO_BROWN, Says.FOR),
        ("cupped", Seen(materials=frozenset({"horse-manure-straw"})), Cause.WEEDKILLER, Says.FOR),
        ("cupped", Seen(materials=frozenset({"grass-fresh"})), Cause.WEEDKILLER, Says.NOTHING),
    ],
)
def test_the_heaps_own_numbers_put_the_cause_first(sign: str, seen: Seen, cause: Cause, says: Says) -> None:
    assert first(sign, seen) == (cause, says)


def test_where_nothing_is_known_the_order_of_the_table_stands() -> None:
    for key, row in SIGNS.items():
        unknown = diagnosis(key, Seen(ready=False, mix=Mix()))
        known = [one for one in unknown.causes if one.cause is not Cause.TOO_YOUNG]
        assert [one.cause for one in known] == [one for one in row.causes if one is not Cause.TOO_YOUNG]
        assert all(one.says is Says.NOTHING and one.figure is None for one in known)


def test_the_figure_and_its_bound_come_along() -> None:
    best = diagnosis("ammonia", Seen(mix=RICH)).causes[0]
    assert best.figure == RICH.c_to_n and best.bound == 20.0


def test_against_comes_last() -> None:
    dry = diagnosis("wet", Seen(mix=BROWN, squeeze="dust", covered=None))
    assert [(one.cause, one.says) for one in dry.causes] == [
        (Cause.NO_ROOF, Says.NOTHING), (Cause.TOO_GREEN, Says.AGAINST), (Cause.TOO_WET, Says.AGAINST),
    ]  # fmt: skip


seens = st.builds(
    Seen,
    mix=st.lists(st.sampled_from(sorted(FEEDSTOCKS)), max_size=4).map(
        lambda keys: added(Mix(), [(pile(key, 40, 1), 2) for key in keys if FEEDSTOCKS[key].density_kg_m3])
    ),
    squeeze=st.sampled_from([None, "dust", "crumbles", "holds", "drops", "runs"]),
    volume_l=st.none() | st.floats(0, 5_000),
    days_since_turn=st.none() | st.integers(0, 900),
    month=st.none() | st.integers(1, 12),
    covered=st.none() | st.booleans(),
)


@given(st.sampled_from(sorted(SIGNS)), seens)
def test_every_cause_of_the_table_is_shown_once_and_none_is_added(sign: str, seen: Seen) -> None:
    found = diagnosis(sign, seen).causes
    assert sorted(one.cause for one in found) == sorted(SIGNS[sign].causes)
    assert [one.says for one in found] == sorted((one.says for one in found), reverse=True)
