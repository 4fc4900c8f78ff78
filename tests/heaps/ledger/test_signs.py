"""Signs in replay: what is looked at again, and what is not any more; and what the wire takes of them."""

from datetime import UTC, datetime, timedelta

import pytest

from heaps.ledger import Entry, replay
from heaps.ledger.kinds import Dropoff, Kind, Reading, Share, Sign, Turn
from heaps.science.materials import PUBLISHED
from heaps.wire import Refusal, read_details

START = datetime(2026, 6, 1, 9, tzinfo=UTC)
GRASS = Dropoff("grass-fresh", 4, 10_000)


def entry(day: int, what: Kind, bay: str = "one") -> Entry:
    return Entry(f"{day:04}-{what.kind}-{bay}", bay, START + timedelta(days=day), what)


def signs(*entries: Entry, bay: str = "one") -> dict[str, int]:
    """The signs to look at again, by the day on which they were last met."""
    batch = replay(entries, PUBLISHED).bays[bay].batch
    return {sign: (at - START).days for sign, at in batch.signs.items()} if batch else {}


def test_a_sign_of_a_reading_waits_for_a_look_until_it_is_gone() -> None:
    seen = [entry(0, GRASS), entry(1, Reading(signs=("ants", "flies")))]
    assert signs(*seen) == {"ants": 1, "flies": 1}
    done = [*seen, entry(2, Sign("fruit-flies", "done", "bury the peelings"))]
    assert signs(*done) == {"ants": 1, "flies": 2}
    assert signs(*done, entry(3, Sign("flies", "gone"))) == {"ants": 1}


def test_a_reading_that_names_no_sign_takes_none_away() -> None:
    assert signs(entry(0, GRASS), entry(1, Reading(signs=("ants",))), entry(2, Reading(temp_tenths_c=300))) == {
        "ants": 1
    }


def test_a_sign_without_a_word_of_a_reading_has_its_own() -> None:
    assert signs(entry(0, GRASS), entry(1, Sign("wasps", "seen"))) == {"wasps": 1}


def test_gone_what_was_never_seen_is_nothing() -> None:
    assert signs(entry(0, GRASS), entry(1, Sign("rats", "gone"))) == {}


def test_signs_go_with_the_heap_and_the_latest_look_counts() -> None:
    both = [
        entry(0, GRASS),
        entry(0, GRASS, "two"),
        entry(1, Reading(signs=("ants", "rats"))),
        entry(3, Reading(signs=("ants",)), "two"),
        entry(4, Turn((Share("one", 100), Share("two", 50))), "three"),
    ]
    assert signs(*both, bay="three") == {"ants": 3, "rats": 1}
    assert signs(*both, bay="two") == {"ants": 3}
    assert signs(*both, bay="one") == {}


def test_in_an_empty_bay_nothing_waits() -> None:
    assert replay([entry(1, Sign("ants", "seen"))], PUBLISHED).bays["one"].batch is None


@pytest.mark.parametrize(
    ("details", "says"),
    [
        ({"sign": "ants", "says": "done"}, "what was done"),
        ({"sign": "ants", "says": "seen", "did": "cover"}, "what was done"),
        ({"sign": "moles", "says": "seen"}, "which sign"),
        ({"sign": "ants", "says": "done", "did": "sing"}, "what was done"),
    ],
)
def test_the_wire_takes_only_what_fits_together(details: dict[str, str], says: str) -> None:
    with pytest.raises(Refusal, match=says):
        read_details("sign", details)


def test_a_verdict_of_an_older_phone_is_taken_and_stored_as_before() -> None:
    what, plain = read_details("verdict", {"test": "look", "ready": "ready"})
    assert plain == {"test": "look", "ready": "ready"}
    assert what.look is None  # type: ignore[union-attr]  # it is a verdict


@pytest.mark.parametrize(
    ("counts", "says"),
    [
        ({"sown": 20, "came_up": 12}, "both pots"),
        ({"sown": 20, "came_up": 12, "control_sown": 20}, "both pots"),
        ({"sown": 20, "came_up": 21, "control_sown": 20, "control_up": 19}, "No more seeds"),
        ({"sown": 20, "came_up": 20, "control_sown": 20, "control_up": 21}, "No more seeds"),
    ],
)
def test_seeds_are_counted_in_both_pots(counts: dict[str, int], says: str) -> None:
    with pytest.raises(Refusal, match=says):
        read_details("verdict", {"test": "cress", "ready": "not yet", **counts})
    read_details("verdict", {"test": "cress", "ready": "not yet", **dict.fromkeys(counts, 20), "control_sown": 20,
                             "control_up": 20, "sown": 20, "came_up": 20})  # fmt: skip
