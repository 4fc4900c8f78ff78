"""Bring in an old notebook, or the file of a temperature logger."""
# ruff: noqa: N999 - a command is named after what it does

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from tqdm import tqdm

from heaps.importing import Bad, Found, Ground, Table, Tally, Unreadable, bring_in, logger, notebook
from heaps.importing.reasons import BadCell
from members.models import Member

ASSUMED = "Days like 3/4/2024 are read with the day first. A gallon is the imperial one. Times are the site's own."


class Command(BaseCommand):
    help = f"{notebook.__doc__}\nWith --logger:\n\n{logger.__doc__}"

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        return super().create_parser(
            prog_name, subcommand, formatter_class=argparse.RawDescriptionHelpFormatter, **kwargs
        )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--as", required=True, dest="importer", metavar="SIGN_IN_NAME")
        parser.add_argument("--dry-run", action="store_true", help="list what is wrong and write nothing")
        parser.add_argument("--site", default="", help="the site meant where a line names none")
        parser.add_argument("--logger", action="store_true", help="the file is a temperature logger's")
        parser.add_argument("--bay", default="", help="with --logger: the bay that the probes are in")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            tally = self._bring_in(**options)
        except (Unreadable, BadCell) as trouble:
            raise CommandError(str(trouble)) from None
        self.stdout.write(_summary(tally, options["dry_run"]))
        if tally.bad:
            sys.exit(1)

    def _bring_in(self, file: Path, importer: str, dry_run: bool, site: str, bay: str, **options: Any) -> Tally:
        person, ground, table = _importer(importer), Ground.known(site), Table.opened(file)
        self.stdout.write(ASSUMED)
        with tqdm(table.lines(), total=table.length, unit=" lines", disable=None) as lines:
            rows: Iterator[Found | Bad]
            if options["logger"]:
                rows = logger.rows(table, lines, ground.bay(ground.site(""), bay), person)
            else:
                rows = notebook.rows(table, lines, ground, person)
            return bring_in(rows, person, self._tell, dry_run)

    def _tell(self, bad: Bad) -> None:
        with tqdm.external_write_mode():
            self.stdout.write(str(bad))


def _importer(name: str) -> Member:
    person = Member.objects.filter(username=name).first()
    if person is None:
        raise CommandError(f"Nobody signs in as {name}.")
    if not (person.has_role("coordinator") or person.has_role("administrator")):
        raise CommandError(f"{name} is neither a coordinator nor an administrator. Ask one to bring this in.")
    return person


def _summary(tally: Tally, dry_run: bool) -> str:
    verb = "would go in" if dry_run else "went in"
    written = " Nothing was written." if dry_run else ""
    return f"{tally.went_in} {verb}, {tally.here_already} were here already, {tally.bad} need you.{written}"
