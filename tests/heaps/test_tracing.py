"""Following loads: at every moment they lie where the lineage of replay's own batches says."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from heaps import history, ledger
from heaps.ledger.kinds import Dropoff, Harvest
from heaps.models import Entry
from heaps.science.materials import PUBLISHED
from heaps.tracing import Followed, follow
from tests import random_ledgers
from tests.heaps.test_history import BAYS, SITE, ground, people, take

pytestmark = pytest.mark.ledger


def lineage(entries: list[ledger.Entry], load: ledger.Entry) -> tuple[list[set[str]], list[str]]:
    """In which bays replay's batches have the load among their forebears, after each entry; and their harvests."""
    states: ledger.States = {}
    holding: set[str] = set()
    moments, harvests = [], []
    for entry in entries:
        before = states[entry.bay].batch if entry.bay in states else None
        known = {state.batch.uid for state in states.values() if state.batch}
        if isinstance(entry.what, Harvest) and before and before.uid in holding:
            harvests.append(entry.uid)
        ledger.step(states, entry, PUBLISHED)
        here = {bay: state.batch for bay, state in states.items() if state.batch}
        if entry.uid == load.uid:
            holding.add(here[load.bay or ""].uid)
        new = [batch for batch in here.values() if batch.uid not in known]  # a load goes on with turns after it, only
        holding |= {batch.uid for batch in new if holding & set(batch.parents)}
        moments.append({bay for bay, batch in here.items() if batch.uid in holding})
    return moments, harvests


def stayed(found: Followed, entry: ledger.Entry) -> set[str]:
    """Where the load lay just after an entry, by its stays."""
    begun = [stay for stay in found.stays if stay.began.key <= entry.key]
    return {stay.bay for stay in begun if stay.ended is None or stay.ended.key > entry.key}


class RandomLedgers(TestCase):
    @settings(max_examples=80, deadline=None)
    @given(raws=random_ledgers.ledgers(SITE, BAYS), which=st.integers(0, 30))
    def test_one_load_lies_where_the_lineage_says_at_every_moment(self, raws: list[dict[str, Any]], which: int) -> None:
        site, (ada, _) = ground(), people()
        take(raws, ada)
        entries = list(ledger.replay(map(history.entry_of, Entry.objects.select_related("bay")), PUBLISHED).standing)
        loads = [entry for entry in entries if isinstance(entry.what, Dropoff)]
        if not loads:
            return
        load = loads[which % len(loads)]
        (stands,) = history.as_they_stand([Entry.objects.select_related("bay").get(uid=load.uid)])
        found = follow(site, [stands])
        moments, harvests = lineage(entries, load)
        assert [stayed(found, entry) for entry in entries] == moments
        assert [one.uid for one in found.harvests] == harvests
        assert {bay for bay, uids in found.lying.items() if uids} == moments[-1]
