"""`manage.py words`: gather every text, and say how easily they read; with `--pot`, write them for translators."""

import json
from pathlib import Path
from typing import Any

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.core.management.base import BaseCommand, CommandError, CommandParser

from cooperative.bench import table
from cooperative.words import catalogue, figures, reading

SHOWN = 10


class Command(BaseCommand):
    help = "Gather every text that is shown and say how easily they read. Nothing is written unless asked for."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="a list for a program")
        parser.add_argument("--strict", action="store_true", help="end with 1 when a bar does not hold")
        parser.add_argument("--pot", type=Path, metavar="FILE", help="write all texts as a template for translators")
        parser.add_argument("--compile", type=Path, metavar="FILE.po", help="write FILE.mo beside it, for Django")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["compile"]:
            return self.compile(options["compile"])
        texts = catalogue()
        if options["pot"]:
            with options["pot"].open("wb") as file:
                write_po(file, texts, width=100)
            return None
        reads = reading.texts_read(texts)
        found = figures(reads)
        if options["json"]:
            self.stdout.write(json.dumps([one.plain() for one in found], indent=1))
        else:
            self.tell(reads, table(found))
        if options["strict"] and any(one.holds is False for one in found):
            raise CommandError("A bar does not hold.", returncode=1)
        return None

    def compile(self, written: Path) -> None:
        """Make of a translator's file what Django reads."""
        with written.open("rb") as source, written.with_suffix(".mo").open("wb") as target:
            write_mo(target, read_po(source))

    def tell(self, reads: list[reading.Read], figures: str) -> None:
        """For people: the figures, what is hardest, and every banned word."""
        self.stdout.write(figures)
        self.stdout.write("\nHardest to read, with the grade of each:")
        for one in reading.hardest(reads, SHOWN):
            self.stdout.write(f"{one.grade:5.1f}  {one.text}")
        for word, text in reading.banned(reads):
            self.stdout.write(f"Banned: {word} in: {text}")
