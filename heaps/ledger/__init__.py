"""The ledger's pure half: the kinds of entry, and replay, which turns entries into heaps."""

from heaps.ledger.amounts import Amount, Heading, amount_of, numbers
from heaps.ledger.corrections import corrected_by, effective
from heaps.ledger.heap import Ancestor, Batch, BayState, Layer, Load, Mark, Remark, Unturned, from_plain, to_plain
from heaps.ledger.kinds import KINDS, NEEDS_BAY, ORDER, Correction, Entry, Kind, Turn
from heaps.ledger.replay import REPLAY, Replayed, States, content_of, replay, step
from heaps.ledger.stages import Stage, stage

__all__ = [
    "KINDS", "NEEDS_BAY", "ORDER", "REPLAY", "Amount", "Ancestor", "Batch", "BayState", "Correction", "Entry",
    "Heading", "Kind", "Layer", "Load", "Mark", "Remark", "Replayed", "Stage", "States", "Turn", "Unturned",
    "amount_of", "content_of", "corrected_by", "effective", "from_plain", "numbers", "replay", "stage", "step",
    "to_plain",
]  # fmt: skip
