"""In what order the loads lie in a heap."""

from heaps import ledger
from heaps.ledger import heap
from heaps.ledger.kinds import Dropoff, Share, Turn
from heaps.science.materials import PUBLISHED
from tests.heaps.ledger.test_replay import BAYS, entry, grass


def test_a_heap_lies_as_it_was_filled() -> None:
    a = BAYS[0]
    tipped = [("grass-fresh", 2), ("cardboard", 4), ("cardboard", 2), ("grass-fresh", 1)]
    told = [entry(place, a, place, Dropoff(what, halves, 40_000)) for place, (what, halves) in enumerate(tipped)]
    batch = ledger.replay(told, PUBLISHED).bays[a].batch
    assert batch and batch.layers == (
        ledger.Layer("grass-fresh", 40_000), ledger.Layer("cardboard", 120_000), ledger.Layer("grass-fresh", 20_000),
    )  # fmt: skip


def test_a_turn_mixes_and_what_lay_before_is_remembered() -> None:
    a, b, _, _ = BAYS
    card = entry(3, b, 3, Dropoff("cardboard", 2, 40_000))
    told = [grass(1, a, 1), card, entry(4, b, 4, Turn((Share(a, 100),))), grass(5, b, 5)]
    batch = ledger.replay(told, PUBLISHED).bays[b].batch
    assert batch and batch.layers == (ledger.Layer(None, 80_000), ledger.Layer("grass-fresh", 40_000))
    assert batch.unturned == (
        ledger.Unturned(a, (ledger.Layer("grass-fresh", 40_000),)),
        ledger.Unturned(b, (ledger.Layer("cardboard", 40_000),)),
    )


def test_many_thin_layers_at_the_bottom_become_one() -> None:
    told = [
        entry(place, BAYS[0], place, Dropoff(("grass-fresh", "cardboard")[place % 2], 1, 10_000)) for place in range(60)
    ]
    batch = ledger.replay(told, PUBLISHED).bays[BAYS[0]].batch
    assert batch and len(batch.layers) == heap.MOST_LAYERS
    assert batch.layers[0] == ledger.Layer(None, 5_000 * 37)
    assert sum(layer.volume_ml for layer in batch.layers) == batch.volume_ml
