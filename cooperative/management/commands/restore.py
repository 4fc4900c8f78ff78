"""`manage.py restore FILE`: bring a copy back. What stands there is kept, and phones offer again what they sent."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from cooperative.backups import Trouble, lost, shelf
from cooperative.backups.restoring import Restored, restore

PHONES = (
    "Now start the server. Each phone, when it is next opened with a network, offers again what it sent in the last "
    "35 days: what is here already counts once, the rest comes back. Words and givers do not: phones keep none of sent "
    "entries."
)


class Command(BaseCommand):
    help = (
        "Bring back a copy that `backup` made. The server must be stopped. The copy is looked through and made ready "
        "first; the database that stands there is kept under a name with the date. If anything fails, all stays."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="the copy; with --still-missing the list that restore wrote")
        parser.add_argument(
            "--still-missing", action="store_true", help="change nothing; say what of a list has not come back yet"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["still_missing"]:
            self._say_what_is_missing(options["file"])
        else:
            self._bring_back(options["file"])

    def _bring_back(self, copy: Path) -> None:
        now = timezone.now()
        try:
            done = restore(copy, now)
        except Trouble as trouble:
            raise CommandError(str(trouble), returncode=1) from trouble
        self.stdout.write(f"Brought back: {done.held.entries:,} entries as they stood in {copy}.")
        if done.kept:
            self.stdout.write(f"The database that stood here is kept: {done.kept}. It holds names: delete it in time.")
        if done.erased:
            self.stdout.write(f"{done.erased} who were erased since the copy are erased here, too.")
        for remark in done.remarks:
            self.stdout.write(remark)
        self._say_what_it_lacks(done, shelf.home() / f"lost-{now:%Y%m%dT%H%M%SZ}.csv")
        self.stdout.write(PHONES)

    def _say_what_it_lacks(self, done: Restored, path: Path) -> None:
        if done.lost is None:
            self.stdout.write("What came in since the copy cannot be said: there is no older database of this ledger.")
            return
        for how, count in sorted(done.lost.came.items()):
            hope = "phones offer them again" if how == lost.BY_PHONE else "no phone may hold them"
            self.stdout.write(f"Not in the copy: {count:,} entries that came {how}; {hope}.")
        for what, count in done.lost.rows.items():
            self.stdout.write(f"Not in the copy: {count:,} {what} that were set up since.")
        if done.lost.entries:
            shelf.write(path, done.lost.table)
            self.stdout.write(f"They are listed in {path}. In some days: manage.py restore --still-missing {path}")

    def _say_what_is_missing(self, path: Path) -> None:
        if not path.is_file():
            raise CommandError(f"There is no file {path}.")
        missing = lost.still_missing(path.read_text(encoding="utf-8"))
        for line in missing:
            self.stdout.write(line)
        self.stdout.write(f"{len(missing):,} of that list have not come back.")
