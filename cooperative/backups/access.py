"""A copy from before must let nobody in who was shut out since: a lost phone, a role handed on, an account closed."""

from datetime import datetime

from django.db import Error

from cooperative.backups.erased import Known
from heaps.models import Stewardship
from members.models import Device, Erased, Member, Passkey, Session, Ticket

AS_IN_THE_COPY = (
    "No older database could be read here, so roles, passwords and passkeys are as the copy has them. Look through the "
    "roles of people: some may have been taken since."
)
ROLES = ("is_active", "is_coordinator", "is_treasurer", "is_administrator")


def stays_taken(old: str, now: datetime) -> list[str]:
    """Take from the database on which we stand what was taken in the old one since. What is to be known of it.

    Where none can be read, everybody signs in anew. Tickets go in any case: they may have been used since.
    """
    Ticket.objects.all().delete()
    remarks = _as_by_now(old) if old else [AS_IN_THE_COPY]
    there = list(Session.objects.using(old).values_list("session_key", flat=True)) if old else []
    ended = [key for key in Session.objects.values_list("session_key", flat=True) if key not in set(there)]
    for first in range(0, len(ended), 500):
        Session.objects.filter(session_key__in=ended[first : first + 500]).delete()
    Device.objects.filter(sessions=None, ended_at=None).update(ended_at=now)
    if ended:
        remarks.append(f"{len(ended)} sign-ins have ended; their people sign in anew.")
    return remarks


def erased_in(old: str) -> Known:
    """Who was erased, by the old database. One from before such a list was kept has none."""
    try:
        return frozenset(Erased.objects.using(old).values_list("of", flat=True))
    except Error:
        return frozenset()


def somebody_looks_after() -> bool:
    """Whether anybody is an administrator who can sign in; true while nobody is there at all."""
    return Member.objects.filter(is_administrator=True, is_active=True).exists() or not Member.objects.exists()


def _as_by_now(old: str) -> list[str]:
    """Roles, sites looked after, accounts, passwords and passkeys as they are there, where that gives nobody more."""
    by_now = {one["uid"]: one for one in Member.objects.using(old).values("uid", "password", *ROLES)}
    keys = set(Passkey.objects.using(old).values_list("credential_id", flat=True))
    less = []
    for person in Member.objects.all():
        if (then := by_now.get(person.uid)) is None:
            continue
        taken = [role for role in ROLES if getattr(person, role) and not then[role]]
        for role in taken:
            setattr(person, role, False)
        person.password = then["password"]
        person.save(update_fields=["password", *ROLES])
        less += [person.username] if taken else []
    looked_after = set(Stewardship.objects.using(old).values_list("site__uid", "member__uid"))
    for one in Stewardship.objects.select_related("site", "member"):
        if (one.site.uid, one.member.uid) not in looked_after:
            less.append(one.member.username)
            one.delete()
    for passkey in Passkey.objects.all():
        if passkey.credential_id not in keys:
            passkey.delete()
    return [f"Roles or ways in taken since the copy stay taken: {', '.join(sorted(set(less)))}."] if less else []
