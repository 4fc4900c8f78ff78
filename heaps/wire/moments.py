"""When it happened: a phone's clock may be wrong, and a date that was typed in is kept."""

from datetime import UTC, datetime, timedelta

from heaps.wire.entries import Wired

CLOCK_GRACE = timedelta(minutes=10)
OLD = timedelta(days=60)
#: A phone that is further off than this may be right, and our own clock wrong: nobody can tell from here.
FAR_APART = timedelta(days=2)
OLDEST = datetime(1990, 1, 1, tzinfo=UTC)


def effective_at(wired: Wired, sent_at: datetime, received_at: datetime) -> datetime:
    """When it happened: the phone's time, set right by the error its clock showed when it sent.

    A date typed in by hand is kept. Never later than `received_at`, never before 1990.
    """
    return max(OLDEST, min(_happened_at(wired, sent_at, received_at), received_at))


def date_doubt(wired: Wired, sent_at: datetime, received_at: datetime) -> str:
    """Why a date is unlikely, in a word, or nothing. The entry is taken all the same."""
    happened_at = _happened_at(wired, sent_at, received_at)
    if happened_at > received_at + CLOCK_GRACE:
        return "future"
    if not wired.by_hand and received_at - happened_at > OLD:
        return "long ago"
    if wired.by_hand and happened_at < OLDEST:
        return "before 1990"
    if not wired.by_hand and abs(received_at - sent_at) > FAR_APART:
        return "clocks"
    return ""


def _happened_at(wired: Wired, sent_at: datetime, received_at: datetime) -> datetime:
    if wired.by_hand or sent_at == received_at:
        return wired.occurred_at
    try:
        return wired.occurred_at + (received_at - sent_at)
    except OverflowError:  # a clock thousands of years wrong
        return OLDEST if wired.occurred_at < received_at else received_at + OLD
