"""The ledger's pure half: the kinds of entry, and replay, which turns entries into heaps."""

from heaps.ledger.amounts import Amount, Heading, amount_of
from heaps.ledger.contents import content_of
from heaps.ledger.corrections import corrected_by, effective
from heaps.ledger.heap import Ancestor, Batch, BayState, Layer, Load, Mark, Remark, Unturned, from_plain, to_plain
from heaps.ledger.kinds import KINDS, NEEDS_BAY, ORDER, Correction, Entry, Kind, Turn
from heaps.ledger.replay import REPLAY, Replayed, States, replay, step, tip
from heaps.ledger.stages import Stage, stage
from heaps.ledger.stock import Counted, Stock, material_of, stock_from_plain, stock_of, stock_to_plain, taken

__all__ = [
    "KINDS", "NEEDS_BAY", "ORDER", "REPLAY", "Amount", "Ancestor", "Batch", "BayState", "Correction", "Counted",
    "Entry", "Heading", "Kind", "Layer", "Load", "Mark", "Remark", "Replayed", "Stage", "States", "Stock", "Turn",
    "Unturned", "amount_of", "content_of", "corrected_by", "effective", "from_plain", "material_of",
    "replay", "stage", "step", "stock_from_plain", "stock_of", "stock_to_plain", "taken", "tip", "to_plain",
]  # fmt: skip
