"""Make the stored states and totals anew from the ledger, or check that they are true to it."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from heaps import history
from heaps.models import Site


class Command(BaseCommand):
    help = "Make what is kept beside the ledger anew from it. With --check only say where the two differ."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--check", action="store_true", help="change nothing; end with 1 if something differs")

    def handle(self, *args: Any, **options: Any) -> None:
        sites = list(Site.objects.all())
        if not options["check"]:
            for site in sites:
                history.rebuild(site)
        found = [difference for site in sites for difference in history.drift(site)]
        for difference in found:
            self.stdout.write(difference)
        self.stdout.write(f"drift = {len(found)}")
        if found:
            sys.exit(1)
