"""`manage.py backup`: a copy of everything, brought back elsewhere and compared before it counts."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from cooperative.backups import Trouble
from cooperative.backups.making import KEEP, make


class Command(BaseCommand):
    help = (
        "Copy the database while it is in use, bring the copy back elsewhere, and compare: rows of each table, each "
        "entry, the ledger's chain, the stored sums. In a copy is all that stands in the database: entries, people, "
        "what was set up. Not in it: the settings with the secret key, files of old notebooks on their way in."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", type=Path, help="the folder for it; else backups, where the database's folder is")
        parser.add_argument("--keep", type=int, default=KEEP, help=f"how many copies stay there, {KEEP} unless said")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["keep"] < 1:
            raise CommandError("Keep at least 1 copy.")
        try:
            slip = make(options["to"], options["keep"], timezone.now())
        except Trouble as trouble:
            raise CommandError(f"NO COPY WAS MADE.\n{trouble}", returncode=1) from trouble
        self.stdout.write(
            f"{Path(slip.folder) / slip.file}\n{slip.bytes:,} bytes, {slip.held.entries:,} entries, "
            f"{slip.people:,} people, in {slip.seconds:.1f} s.\n"
            "Brought back elsewhere and compared: rows of each table, each entry, the chain, the sums. All hold."
        )
