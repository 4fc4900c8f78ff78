"""Reordered, repeated and overlapping letters, and corrections of one entry by two people: one outcome."""

import hashlib
import json
import random
from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction

from heaps import history
from heaps.models import Bay, Entry, StoredBay
from members.models import Member
from tests.faults.bases import on_postgresql
from tests.faults.door.totals import kept_totals
from tests.recount import recounted
from tests.sendings import correction, load, send, states, wet_g

pytestmark = [pytest.mark.ledger, pytest.mark.django_db]

PERMUTATIONS = 1_000


def test_a_thousand_orders_and_overlaps_give_one_state(bay: Bay, second_bay: Bay, coordinator: Member) -> None:
    bay.site.time_zone = "UTC"
    bay.site.save()
    entries = _season(bay, second_bay)
    found: set[str] = set()
    for number in range(PERMUTATIONS // 5 if on_postgresql() else PERMUTATIONS):
        chance = random.Random(number)
        with transaction.atomic():
            for letter in _letters(entries, chance):
                assert set(states(send(letter, coordinator, timedelta(days=3)))) <= {"accepted", "known"}
            assert Entry.objects.count() == len(entries)
            found.add(_hash())
            assert len(found) == 1, f"order {number} differs"
            if number % 100 == 0:
                assert kept_totals() == recounted()
                assert history.drift(bay.site) == []
            transaction.set_rollback(True)


def _season(bay: Bay, second_bay: Bay) -> list[dict[str, Any]]:
    """Loads, a correction, a withdrawal, a turn and a harvest, all of one morning."""
    loads = [load(bay, minutes=10 * place, count=2 + place) for place in range(3)]
    turned = {"sources": [{"bay": str(bay.uid), "per_cent": 50}]}
    taken = {"half_bags": 4, "bag_ml": 40_000, "per_cent": 30, "sieved": "coarse"}
    instead = {"kind": "dropoff", "bay": str(second_bay.uid), "details": loads[1]["details"]}
    return [
        *loads,
        load(second_bay, minutes=15, kind="turn", details=turned),
        load(second_bay, minutes=25, kind="harvest", details=taken),
        correction(bay.site, loads[0]["uid"]),
        correction(bay.site, loads[1]["uid"], "instead", **instead),
    ]


def _letters(entries: list[dict[str, Any]], chance: random.Random) -> list[list[dict[str, Any]]]:
    """All of them in some order, some twice, in one letter or in two that overlap."""
    told = chance.sample(entries, len(entries))
    told += chance.sample(entries, chance.randrange(4))
    if chance.random() < 0.5:
        return [told]
    cut = chance.randrange(1, len(told))
    return [told[: cut + 1], told[cut - 1 :]]


def _hash() -> str:
    bays = sorted((str(one.bay_id), json.dumps(one.state, sort_keys=True)) for one in StoredBay.objects.all())
    totals = sorted((str(key), sums) for key, sums in kept_totals().items())
    return hashlib.sha256(json.dumps([bays, totals]).encode()).hexdigest()


def test_of_two_corrections_the_coordinators_holds_whichever_comes_first(
    bay: Bay, member: Member, coordinator: Member
) -> None:
    """Both meet one load. A phone's that comes after a coordinator's is answered, and nothing of either is lost."""
    for phone_first in (True, False):
        raw = load(bay, minutes=60 * phone_first)
        send([raw], member)
        own = correction(bay.site, raw["uid"], "instead", **_as(bay, 9))
        theirs = correction(bay.site, raw["uid"], "instead", **_as(bay, 6)) | {"occurred_at": "2026-05-01T14:00:00Z"}
        told = [(own, member), (theirs, coordinator)]
        answers = [states(send([one], who, timedelta(hours=3))) for one, who in (told if phone_first else told[::-1])]
        assert answers == [["accepted"], ["accepted"] if phone_first else ["refused"]]
        assert Entry.objects.filter(corrects=raw["uid"]).count() == 1 + phone_first
    assert wet_g() == 2 * 6 * 40_000 // 2 * 200 // 1_000
    assert history.drift(bay.site) == []


def _as(bay: Bay, count: int) -> dict[str, Any]:
    details = {"feedstock": "grass-fresh", "half_containers": count, "container_ml": 40_000}
    return {"kind": "dropoff", "bay": str(bay.uid), "details": details}
