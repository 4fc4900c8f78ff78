"""Random ledgers for property tests: entries with shares, late dates and corrections, as a phone would send them."""

from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import strategies as st

from heaps.ledger import NEEDS_BAY

FEEDSTOCKS = ("grass-fresh", "cardboard", "screened-oversize")
START = datetime(2026, 3, 1, 9, tzinfo=UTC)

uids = st.uuids(version=4).map(str)
moments = st.integers(0, 120 * 24 * 4).map(lambda quarters: START + timedelta(minutes=15 * quarters))


def details_of(kind: str, bays: tuple[str, ...]) -> st.SearchStrategy[dict[str, Any]]:
    """The kind's own fields, at random within what a phone can send."""
    shares = st.lists(
        st.fixed_dictionaries({"bay": st.sampled_from(bays), "per_cent": st.sampled_from([100, 100, 50, 33, 1, 99])}),
        min_size=1,
        max_size=len(bays),
        unique_by=lambda share: share["bay"],
    )
    feedstock = st.sampled_from(FEEDSTOCKS)
    fields: dict[str, dict[str, st.SearchStrategy[Any]]] = {
        "opening": {
            "volume_ml": st.integers(1_000, 900_001),
            "age_days": st.integers(0, 300),
            "make_up": st.just([[FEEDSTOCKS[0], 33], [FEEDSTOCKS[1], 67]]),
        },
        "dropoff": {
            "feedstock": feedstock,
            "half_containers": st.integers(1, 9),
            "container_ml": st.integers(100, 90_001),
            "weighed_g": st.none() | st.integers(1, 50_000),
        },
        "reading": {
            "temp_tenths_c": st.integers(-50, 750),
            "signs": st.sampled_from([[], ["ants"], ["flies"]]),
            "fill_per_cent": st.none() | st.integers(0, 120),
        },
        "water": {"volume_ml": st.integers(100, 20_001)},
        "turn": {"sources": shares},
        "verdict": {"test": st.just("look"), "ready": st.sampled_from(["ready", "not yet"])},
        "harvest": {
            "half_bags": st.integers(0, 30),
            "bag_ml": st.just(40_000),
            "per_cent": st.sampled_from([100, 50, 7]),
            "sieved": st.sampled_from(["coarse", "sieved"]),
        },
        "collection": {"half_bags": st.integers(1, 9), "bag_ml": st.just(40_000)},
        "hours": {"minutes": st.integers(1, 300), "people": st.integers(1, 5)},
        "refused_load": {
            "feedstock": feedstock,
            "why": st.sampled_from(["no room", "other"]),
            "half_containers": st.none() | st.integers(1, 9),
            "container_ml": st.none() | st.integers(100, 90_001),
        },
        "sign": {
            "sign": st.sampled_from(["flies", "ants", "wasps"]),
            "says": st.sampled_from(["seen", "gone"]),
        },
        "cover": {"way": st.sampled_from(["on", "off"])},
        "stocktake": {
            "half_containers": st.integers(0, 9),
            "container_ml": st.just(40_000),
            "feedstock": st.none() | feedstock,
        },
        "spread": {"tenths_m2": st.integers(1, 999)},
        "session": {"sort": st.sampled_from(["talk", "open day"]), "people": st.integers(1, 40)},
        "incident": {"what": st.sampled_from(["rats", "hot heap"])},
    }
    return st.fixed_dictionaries(fields.get(kind, {}))


KINDS = (
    "opening", "dropoff", "dropoff", "dropoff", "reading", "water", "turn", "turn", "close", "reopen", "verdict",
    "harvest", "tip_out", "collection", "hours", "note", "refused_load", "cover", "stocktake", "spread", "session",
    "incident", "sign", "sign",
)  # fmt: skip


@st.composite
def originals(draw: st.DrawFn, site: str, bays: tuple[str, ...]) -> dict[str, Any]:
    """One entry that is no correction."""
    kind = draw(st.sampled_from(KINDS))
    return {
        "wire": 1,
        "uid": draw(uids),
        "kind": kind,
        "site": site,
        "bay": draw(st.sampled_from(bays)) if kind in NEEDS_BAY else None,
        "occurred_at": draw(moments).isoformat(),
        "by_hand": True,
        "details": draw(details_of(kind, bays)),
    }


@st.composite
def corrections(draw: st.DrawFn, site: str, bays: tuple[str, ...], of: list[dict[str, Any]]) -> dict[str, Any]:
    """A correction of one of the entries `of`, or of one that never came."""
    original = draw(st.sampled_from(of))
    corrects = draw(st.sampled_from([original["uid"], original["uid"], original["uid"], draw(uids)]))
    says = draw(st.sampled_from(["withdraw", "instead", "instead", "stands"]))
    details: dict[str, Any] = {"corrects": corrects, "says": says}
    if says == "instead":
        details |= {
            "kind": original["kind"],
            "bay": draw(st.sampled_from(bays)) if original["bay"] else None,
            "occurred_at": draw(st.none() | moments.map(datetime.isoformat)),
            "details": draw(details_of(original["kind"], bays)),
        }
    return {
        "wire": 1,
        "uid": draw(uids),
        "kind": "correction",
        "site": site,
        "bay": None,
        "occurred_at": draw(moments).isoformat(),
        "by_hand": True,
        "details": details,
    }


@st.composite
def ledgers(draw: st.DrawFn, site: str, bays: tuple[str, ...], most: int = 25) -> list[dict[str, Any]]:
    """A whole ledger in the order in which it happened to be drawn, which is not the order in time."""
    plain = draw(st.lists(originals(site, bays), min_size=1, max_size=most, unique_by=lambda raw: raw["uid"]))
    return plain + draw(st.lists(corrections(site, bays, plain), max_size=6, unique_by=lambda raw: raw["uid"]))
