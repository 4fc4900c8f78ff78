"""The wire: JSON from a phone becomes an entry, or a refusal in plain words.

Nothing here knows a database: whether a bay exists is asked of the caller. Every number is checked
against the bounds written beside the fields in `ledger.kinds`.
"""

from heaps.wire.details import read_details, stored_details
from heaps.wire.entries import MOST_ENTRIES, WIRE, Wired, fingerprint_of, in_one_form, read
from heaps.wire.moments import OLDEST, date_doubt, effective_at
from heaps.wire.values import MOST_WORDS, Refusal, Term, read_feedstock, read_moment, read_uid, read_whole, read_words

__all__ = [
    "MOST_ENTRIES", "MOST_WORDS", "OLDEST", "WIRE", "Refusal", "Term", "Wired", "date_doubt",
    "effective_at", "fingerprint_of", "in_one_form", "read", "read_details", "read_feedstock", "read_moment",
    "read_uid", "read_whole", "read_words", "stored_details",
]  # fmt: skip
