"""Entries as their corrections leave them."""

from collections.abc import Iterable, Sequence
from typing import cast

from heaps.ledger.kinds import Correction, Entry


def effective(entries: Iterable[Entry]) -> list[Entry]:
    """The entries as corrected, without the corrections, in the order in which things happened.

    Repeats must have been taken out.
    """
    answers: dict[str, list[Entry]] = {}
    plain: list[Entry] = []
    for entry in entries:
        if isinstance(entry.what, Correction):
            answers.setdefault(entry.what.corrects, []).append(entry)
        else:
            plain.append(entry)
    corrected = (corrected_by(entry, answers[entry.uid]) if entry.uid in answers else entry for entry in plain)
    return sorted((entry for entry in corrected if entry), key=lambda entry: entry.key)


def corrected_by(entry: Entry, answers: Sequence[Entry]) -> Entry | None:
    """The entry after its corrections `answers`; None when it is withdrawn.

    The latest that changes something decides; one that says "stands" changes nothing, and holds until the
    entry is changed again. A correction that would change an entry's kind is as if it had not been made.
    """
    if not answers:
        return entry
    said = [cast(Correction, answer.what) for answer in sorted(answers, key=lambda answer: answer.key)]
    telling = [one for one in said if one.what is None or one.what.kind == entry.what.kind]
    changes = [one for one in telling if one.says != "stands"]
    stands = bool(telling) and telling[-1].says == "stands"
    if not changes:
        return entry._replace(stands=stands)
    if changes[-1].what is None:
        return None
    return entry._replace(bay=changes[-1].bay, at=changes[-1].at or entry.at, what=changes[-1].what, stands=stands)
