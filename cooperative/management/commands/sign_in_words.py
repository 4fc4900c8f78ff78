"""`manage.py sign_in_words NAME`: lets somebody in again, for whoever looks after the host."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from cooperative.management.commands.set_up_link import usual_address
from members import tickets
from members.models import Member
from members.views.shown_once import path_of


class Command(BaseCommand):
    help = "Print four words and a link, good for ten minutes, that sign somebody in: the way back for the last \
administrator who has lost their phone."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="the sign-in name")
        parser.add_argument("--address", help="where the pages are served, like https://heaps.example.org")

    def handle(self, *args: Any, **options: Any) -> None:
        someone = Member.objects.filter(username=options["name"].lower(), is_active=True).first()
        if someone is None:
            raise CommandError("Nobody with this sign-in name can sign in.")
        told = tickets.sign_in_words(someone, None, timezone.now())
        address = (options["address"] or usual_address()).rstrip("/")
        self.stdout.write(" ".join(told.words))
        self.stdout.write(address + path_of(told))
