"""Tickets let somebody in once, by a link or by four words: newcomers, and members on another phone."""

import re
import secrets
import unicodedata
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from django.contrib.auth.hashers import check_password, make_password
from django.db import IntegrityError, transaction
from django.db.models import F, Q, QuerySet

from members.access import CLOCKS_DIFFER_SECONDS, may_help, may_invite
from members.models import Cooperative, Member, Ticket
from members.words import HOW_MANY, WORDS

AT_THE_GATE = timedelta(minutes=10)
TO_SEND = timedelta(days=7)
ANOTHER_PHONE = timedelta(minutes=10)  # ASVS 5.0, 6.5.5: a code that signs somebody in lives ten minutes at most
CLOCKS_DIFFER = timedelta(seconds=CLOCKS_DIFFER_SECONDS)
MOST_INVITATIONS = 100  # each holds one of the 256 first words, and members on another phone need some, too
LINK_BYTES = 24  # 192 random bits
NOBODYS = "!"  # no digest at all: Django then takes as long as for a real one


class Over(Exception):
    """The ticket was used, has ended or was taken back."""


class TooManyOpen(Exception):
    """No more invitations until some are used, have ended or are taken back."""


@dataclass(frozen=True)
class Told:
    """A ticket with its secrets, which are shown once and kept nowhere."""

    ticket: Ticket
    link: str
    words: tuple[str, ...]


def invite(by: Member, lasts: timedelta, now: datetime) -> Told:
    """An invitation. Raises TooManyOpen."""
    return _make(None, by, lasts, now)


def sign_in_words(someone: Member, by: Member | None, now: datetime, is_proof: bool = True) -> Told:
    """A way in for a member on another phone; the one made before is over. Without `by`, it was made on the host.

    It is no proof of who uses it if its maker gave none: a phone left lying unlocked must not let anybody erase.
    """
    return _make(someone, by, ANOTHER_PHONE, now, is_proof)


def by_link(link: str, now: datetime) -> Ticket | None:
    """The ticket with that link, if it still lets somebody in."""
    found = Ticket.objects.filter(link=digest(link)).select_related("member", "made_by").first()
    return found if found and _holds(found, now) else None


def by_words(words: list[str], now: datetime) -> Ticket | None:
    """The ticket with these words, if it still lets somebody in.

    A try is taken from the ticket before the words are compared and given back when they fit, so that however many
    ask at once, only five wrong ones are ever compared. With no such ticket it takes as long.
    """
    first, *others = words
    found = _open(now).filter(first_word=first).select_related("member", "made_by").first()
    known = found is not None and _take_try(found) and _holds(found, now)
    fits = check_password(_secret(others), found.other_words if found and known else NOBODYS)
    if found is None or not (known and fits):
        return None
    Ticket.objects.filter(pk=found.pk).update(tries_left=F("tries_left") + 1)
    return found


@transaction.atomic
def join(ticket: Ticket, name: str, now: datetime) -> Member:
    """A newcomer with the plain member's role, and no password. Raises Over."""
    _use(ticket, now)
    for username in _free_names(name):
        try:
            with transaction.atomic():
                return Member.objects.create_member(username, name)
        except IntegrityError:  # somebody of that name joined just now
            continue
    raise Over


@transaction.atomic
def come_in(ticket: Ticket, now: datetime) -> Member:
    """The member that the ticket lets in. Raises Over."""
    used = _use(ticket, now)
    if used.member is None:
        raise Over
    return used.member


def open_invitations(now: datetime) -> QuerySet[Ticket]:
    """What has been given out and not been used yet."""
    return _open(now).filter(member=None).select_related("made_by")


def open_of(person: Member, now: datetime) -> QuerySet[Ticket]:
    """What is open that a person made, or that lets them in."""
    return _open(now).filter(Q(member=person) | Q(made_by=person))


def take_back(ticket_id: int, now: datetime) -> bool:
    """End an invitation. Whether it was still open."""
    return bool(_open(now).filter(member=None, pk=ticket_id).update(ends_at=now))


def delete_over(now: datetime) -> None:
    """Forget tickets that let nobody in any more."""
    Ticket.objects.filter(Q(ends_at__lte=now) | Q(used_at__isnull=False)).delete()


def digest(link: str) -> str:
    """What is kept of a link. It is long and random, so a plain digest tells nothing of it."""
    return sha256(link.encode()).hexdigest()


def _make(of: Member | None, by: Member | None, lasts: timedelta, now: datetime, is_proof: bool = True) -> Told:
    others = [secrets.choice(WORDS) for _ in range(HOW_MANY - 1)]
    hashed, link = make_password(_secret(others)), secrets.token_urlsafe(LINK_BYTES)
    with transaction.atomic():
        list(Cooperative.objects.select_for_update())  # one at a time: no two may begin with the same word
        if of:
            _open(now).filter(member=of).update(ends_at=now)
        elif open_invitations(now).count() >= MOST_INVITATIONS:
            raise TooManyOpen
        ticket = Ticket.objects.create(
            first_word=_free_word(now), other_words=hashed, link=digest(link),
            member=of, made_by=by, made_at=now, ends_at=now + lasts, is_proof=is_proof,
        )  # fmt: skip
    return Told(ticket, link, (ticket.first_word, *others))


def _free_word(now: datetime) -> str:
    taken = set(_open(now).values_list("first_word", flat=True))
    free = [word for word in WORDS if word not in taken]
    if not free:
        raise TooManyOpen
    return secrets.choice(free)


def _secret(words: list[str]) -> str:
    return " ".join(words)


def _open(now: datetime) -> QuerySet[Ticket]:
    return Ticket.objects.filter(used_at=None, made_at__lte=now + CLOCKS_DIFFER, ends_at__gt=now)


def _take_try(ticket: Ticket) -> bool:
    left = Ticket.objects.filter(pk=ticket.pk, tries_left__gt=0)
    return bool(left.update(tries_left=F("tries_left") - 1))


def _use(ticket: Ticket, now: datetime) -> Ticket:
    """Mark it used. Of two at once, the second waits for the row and finds it used."""
    row = Ticket.objects.select_for_update().get(pk=ticket.pk)
    if not _holds(row, now):
        raise Over
    row.used_at = now
    row.save(update_fields=["used_at"])
    return row


def _holds(ticket: Ticket, now: datetime) -> bool:
    """Whether it lets somebody in: it is open, and whoever made it may still do so. One from the future is not: a clock
    that was wrong for an hour leaves no way in that is open for years.

    So an invitation ends with its maker's role, and nobody comes in as somebody who was given a role meanwhile.
    """
    if ticket.used_at or ticket.ends_at <= now or ticket.made_at > now + CLOCKS_DIFFER:
        return False
    maker, member = ticket.made_by, ticket.member
    if member is None:
        return maker is not None and may_invite(maker)
    return member.is_active and (maker in (None, member) or may_help(maker, member))


def _free_names(name: str) -> list[str]:
    """Sign-in names that could be made from a name, like ada, ada-2, ada-3."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:30].strip("-") or "member"
    taken = set(Member.objects.filter(username__startswith=stem).values_list("username", flat=True))
    numbered = [stem, *(f"{stem}-{number}" for number in range(2, len(taken) + 12))]
    return [one for one in numbered if one not in taken]
