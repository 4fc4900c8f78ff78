"""`manage.py detach_names`: take names off what is older than they are kept, for a timer that runs it daily."""

from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction
from django.utils import timezone

from cooperative.leaving import months_before, months_kept, scrub
from heaps.importing import shelf
from heaps.models import Entry, Parked
from heaps.names import Named, take_off, take_off_bean_tests, take_off_imports
from members import limits, sessions, tickets
from members.models import Session


class Command(BaseCommand):
    help = "Take person, phone and words off old entries, and clear ended sign-ins. Amounts and numbers of people stay."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--months", type=int, help="how long names are kept; else as the cooperative has set it")
        parser.add_argument("--dry-run", action="store_true", help="say how many, and change nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        months = options["months"] if options["months"] is not None else months_kept()
        if not 1 <= months <= 1_200:
            raise CommandError("Say for how many months names are kept, from 1 to 1200.")
        before = months_before(timezone.now(), months)
        old = Named(Entry.objects.filter(effective_at__lt=before), Parked.objects.filter(received_at__lt=before))
        if options["dry_run"]:
            self.stdout.write(f"{old.count()} entries older than {before:%Y-%m-%d} would lose their names.")
            return
        taken = take_off(old)
        take_off_bean_tests(before.date())
        take_off_imports(before)
        _forget_what_is_over(timezone.now())
        transaction.on_commit(scrub)  # each time, because an erasure may have found the file busy
        self.stdout.write(f"{taken} entries older than {before:%Y-%m-%d} lost their names.")


def _forget_what_is_over(now: datetime) -> None:
    """Sign-ins, devices, invitations, counted tries and files of old notebooks that serve nothing any more."""
    Session.objects.filter(expire_date__lt=now).delete()
    sessions.delete_long_ended(now)
    tickets.delete_over(now)
    limits.delete_over(now)
    shelf.throw_away_old(now)
