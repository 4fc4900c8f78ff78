"""Bad input gets a reason that says what to do; good input comes through as it was."""

import hashlib
import json
import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from heaps import wire
from heaps.ledger.kinds import Correction, Dropoff, Reading, Share, Turn
from heaps.science.materials import PUBLISHED

SITE, BAY, OTHER = (str(uuid.UUID(int=number)) for number in (1, 2, 3))
GRASS = {"feedstock": "grass-fresh", "half_containers": 4, "container_ml": 40_000}
#: What phones of before donors were told apart by: it must never change.
FINGERPRINT = "373975603269ccc742d037003e52da614698ce13ae8967ee489e96e54176b946"
SENT = datetime(2026, 5, 1, 10, tzinfo=UTC)


def raw(kind: str = "dropoff", details: Any = None, **changed: Any) -> dict[str, Any]:
    return {
        "wire": 1,
        "uid": str(uuid.UUID(int=9)),
        "kind": kind,
        "site": SITE,
        "bay": BAY,
        "occurred_at": "2026-05-01T09:00:00Z",
        "by_hand": False,
        "details": GRASS if details is None else details,
        "words": "",
    } | changed


def test_a_drop_off_comes_through() -> None:
    read = wire.read(raw(words="  from the hedge\x00 "), PUBLISHED)
    assert read.what == Dropoff("grass-fresh", 4, 40_000)
    assert (read.words, read.bay, read.occurred_at) == ("from the hedge", BAY, datetime(2026, 5, 1, 9, tzinfo=UTC))


def test_a_turn_and_a_correction_come_through() -> None:
    turn = {"sources": [{"bay": OTHER, "per_cent": 50}, {"bay": BAY}]}
    assert wire.read(raw("turn", turn), PUBLISHED).what == Turn((Share(BAY, 100), Share(OTHER, 50)))
    instead = {"corrects": OTHER, "says": "instead", "kind": "reading", "bay": BAY, "details": {"temp_tenths_c": 555}}
    assert wire.read(raw("correction", instead, bay=None), PUBLISHED).what == Correction(
        OTHER, "instead", BAY, None, Reading(temp_tenths_c=555)
    )


def test_who_gave_it_stands_outside_what_was_recorded() -> None:
    old, new = wire.read(raw(), PUBLISHED), wire.read(raw(donor=OTHER), PUBLISHED)
    assert (old.donor, new.donor) == (None, OTHER)
    assert old.fingerprint == new.fingerprint == FINGERPRINT
    assert wire.read(raw(donor=None), PUBLISHED).fingerprint == FINGERPRINT


@pytest.mark.parametrize("odd", [17, "", "the stable", [], {}, True, "1" * 5000])
def test_a_giver_that_cannot_be_read_costs_nobody_their_entry(odd: Any) -> None:
    assert wire.read(raw(donor=odd), PUBLISHED).donor is None


def test_only_a_load_is_given() -> None:
    assert wire.read(raw("note", {}, donor=OTHER), PUBLISHED).donor is None


REFUSED: list[tuple[Any, str]] = [
    ("not an entry", "cannot be read"),
    (None, "cannot be read"),
    (raw(wire=2), "newer page"),
    (raw(wire="1"), "newer page"),
    (raw(wire=True), "newer page"),
    (raw(kind="party"), "no such kind"),
    (raw(kind=["dropoff"]), "no such kind"),
    (raw(uid="17"), "Cannot tell the entry's own number"),
    (raw(uid=17), "Cannot tell the entry's own number"),
    (raw(site=None), "Cannot tell which site"),
    (raw(bay=None), "needs a bay"),
    (raw(bay={"a": 1}), "Cannot tell which bay"),
    (raw(occurred_at="yesterday"), "date and time"),
    (raw(occurred_at="2026-05-01T09:00:00"), "date and time"),  # no offset
    (raw(occurred_at=1777), "date and time"),
    (raw(by_hand="yes"), "typed in"),
    (raw(words=5), "not text"),
    (raw(words="x" * 1001), "under 1000 letters"),
    (raw(details=[]), "no details"),
    (raw(details=GRASS | {"half_containers": 0}), "from 1 to 400, not 0"),
    (raw(details=GRASS | {"half_containers": -3}), "from 1 to 400, not -3"),
    (raw(details=GRASS | {"half_containers": "four"}), "whole number, like 1, not four"),
    (raw(details=GRASS | {"half_containers": 1.5}), "whole number"),
    (raw(details=GRASS | {"half_containers": True}), "whole number"),
    (raw(details=GRASS | {"half_containers": None}), "whole number"),  # what NaN becomes
    (raw(details=GRASS | {"half_containers": "9" * 5000}), "whole number"),
    (raw(details=GRASS | {"feedstock": "moon dust"}), "not on the list"),
    (raw(details=GRASS | {"feedstock": []}), "not on the list"),
    (raw(details=GRASS | {"feedstock": "meat-fish"}), "never goes in"),
    (raw(details=GRASS | {"smell": "odd"}), "something unknown: smell"),
    (raw("reading", {}), "empty"),
    (raw("reading", {"squeeze": "soggy"}), "the squeeze test from: dust"),
    (raw("reading", {"temp_tenths_c": 4000}), "the temperature, from -300 to 1200"),
    (raw("reading", {"signs": "flies"}), "the signs seen"),
    (raw("turn", {"sources": []}), "which bays"),
    (raw("turn", {"sources": [{"bay": BAY}, {"bay": BAY}]}), "stands twice"),
    (raw("turn", {"sources": [{"bay": BAY, "per_cent": 101}]}), "from 1 to 100"),
    (raw("opening", {"volume_ml": 5000, "age_days": 1, "make_up": [["grass-fresh", 60]]}), "make 100 per cent"),
    (raw("correction", {"corrects": OTHER, "says": "perhaps"}), "withdraw the entry"),
    (
        raw("correction", {"corrects": OTHER, "says": "instead", "kind": "correction", "details": {}}),
        "cannot be corrected",
    ),
    (raw("correction", {"corrects": OTHER, "says": "instead", "kind": ["x"], "details": {}}), "cannot be corrected"),
    (raw("correction", {"corrects": OTHER, "says": "instead", "kind": "dropoff", "details": GRASS}), "needs a bay"),
]


@pytest.mark.parametrize(("bad", "says"), REFUSED, ids=[says for _, says in REFUSED])
def test_a_bad_entry_is_refused_with_its_reason(bad: Any, says: str) -> None:
    with pytest.raises(wire.Refusal) as refusal:
        wire.read(bad, PUBLISHED)
    assert says in str(refusal.value)
    assert len(str(refusal.value)) < 300


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=500, deadline=None)
@given(data=st.data(), kind=st.sampled_from(["dropoff", "reading", "turn", "opening", "correction", "harvest"]))
def test_nothing_but_a_refusal_ever_comes_of_odd_values(data: st.DataObject, kind: str) -> None:
    odd = raw(kind, data.draw(st.dictionaries(st.sampled_from(
        ["feedstock", "half_containers", "sources", "make_up", "signs", "corrects", "says", "kind", "details", "bay",
         "occurred_at", "probe", "volume_ml"]), ANYTHING)))  # fmt: skip
    odd |= data.draw(st.dictionaries(st.sampled_from(list(odd)), ANYTHING, max_size=2))
    try:
        read = wire.read(odd, PUBLISHED)
    except wire.Refusal as refusal:
        assert str(refusal)
    else:
        json.dumps(read.details)
        assert len(read.fingerprint) == 64


def test_the_fingerprint_covers_what_was_measured_and_no_words() -> None:
    plain = wire.read(raw(), PUBLISHED).fingerprint
    assert wire.read(raw(words="hello"), PUBLISHED).fingerprint == plain
    for changed in (
        {"bay": OTHER},
        {"occurred_at": "2026-05-01T09:00:01Z"},
        {"by_hand": True},
        {"details": GRASS | {"half_containers": 5}},
    ):
        assert wire.read(raw(**changed), PUBLISHED).fingerprint != plain
    assert wire.read(raw(occurred_at="2026-05-01T11:00:00+02:00"), PUBLISHED).fingerprint == plain


@given(st.dictionaries(st.text(max_size=8), st.integers() | st.text(max_size=20) | st.lists(st.text(max_size=3))))
@example({"volume_ml": 10**30})
@example({"volume_ml": float("inf"), "bay": None})
@example({"probe": "\u007f"})
@example({"half_bags": 1, "bag_ml": 40_000})
@example({"probe": "\u00e9tuve \u007f\u2028", "b": 1, "a": [{"per_cent": 50, "bay": BAY}]})
def test_details_have_one_form_whatever_letters_are_in_them(details: dict[str, Any]) -> None:
    """The form in which fingerprints were made before there was a quicker way to write it."""
    assert wire.in_one_form(details) == json.dumps(details, sort_keys=True, separators=(",", ":"))


@pytest.mark.parametrize("bay", [None, BAY])
@pytest.mark.parametrize("by_hand", [True, False])
def test_the_fingerprint_is_made_of_one_list(bay: str | None, by_hand: bool) -> None:
    at, details = "2026-05-01T09:00:00.123000+00:00", {"b": "\u00e9", "a": 1}
    said = [OTHER, "reading", SITE, bay, at, by_hand, details]
    whole = json.dumps(said, sort_keys=True, separators=(",", ":")).encode()
    found = wire.fingerprint_of(OTHER, "reading", (SITE, bay), at, by_hand, wire.in_one_form(details))
    assert found == hashlib.sha256(whole).hexdigest()


@pytest.mark.parametrize("wrong_by", [timedelta(0), timedelta(days=1), timedelta(days=-1), timedelta(days=3650)])
def test_a_wrong_clock_is_set_right_by_what_it_showed_when_it_sent(wrong_by: timedelta) -> None:
    """One that is years wrong may be ours, so it is asked about, too."""
    happened = SENT - timedelta(hours=3)
    read = wire.read(raw(occurred_at=(happened + wrong_by).isoformat()), PUBLISHED)
    assert wire.effective_at(read, SENT + wrong_by, SENT) == happened
    assert wire.date_doubt(read, SENT + wrong_by, SENT) == ("clocks" if wrong_by > timedelta(days=2) else "")


def test_a_date_typed_in_is_kept_whatever_the_clock_says() -> None:
    read = wire.read(raw(by_hand=True, occurred_at="2026-02-03T12:00:00Z"), PUBLISHED)
    assert wire.effective_at(read, SENT + timedelta(days=400), SENT) == datetime(2026, 2, 3, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("occurred_at", "by_hand", "effective", "doubt"),
    [
        ("2026-05-01T10:30:00Z", False, SENT, "future"),
        ("2027-01-01T10:00:00Z", True, SENT, "future"),
        ("2026-01-01T10:00:00Z", False, datetime(2026, 1, 1, 10, tzinfo=UTC), "long ago"),
        ("1066-10-14T09:00:00Z", True, wire.OLDEST, "1990"),
        ("0001-01-01T00:00:00Z", False, wire.OLDEST, "long ago"),
        ("9999-12-31T23:59:59Z", False, SENT, "future"),
    ],
)
def test_an_unlikely_date_is_taken_and_doubted(
    occurred_at: str, by_hand: bool, effective: datetime, doubt: str
) -> None:
    read = wire.read(raw(occurred_at=occurred_at, by_hand=by_hand), PUBLISHED)
    assert wire.effective_at(read, SENT, SENT) == effective
    assert doubt in wire.date_doubt(read, SENT, SENT)
    assert wire.effective_at(read, datetime(1, 1, 1, tzinfo=UTC), SENT) <= SENT
