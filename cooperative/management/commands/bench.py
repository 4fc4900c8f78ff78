"""`manage.py bench pages`, `import`, `recipe`, `restore`, `forecast` or `sync`: measure, and say whether bars hold."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from cooperative.bench import table
from cooperative.bench.board import figures as board
from cooperative.bench.importing import figures as importing
from cooperative.bench.living import figures as forecast
from cooperative.bench.recipe import figures as recipe
from cooperative.bench.recording import figures as recording
from cooperative.bench.restoring import figures as restoring
from cooperative.bench.sending import figures as sending
from cooperative.bench.vitals import VISITS
from cooperative.collecting import collect_static

LEAST_ROUNDS = 7


class Command(BaseCommand):
    help = (
        "Measure the recording page and the board: bytes, cold start and taps without a server, questions asked. "
        "Or an old notebook brought in and taken back: rows a second, memory. Or recipes for thirty heaps. "
        "Or a long ledger copied and brought back. Or forecasts. "
        "Or what phones send: rows a second, and whether it grows dearer as the ledger does."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("what", choices=["pages", "import", "recipe", "restore", "forecast", "sync"])
        parser.add_argument("--json", action="store_true", help="a list for a program")
        parser.add_argument("--strict", action="store_true", help="end with 1 when a bar does not hold")
        parser.add_argument(
            "rows", type=int, nargs="?", default=100_000, help="of the notebook; entries, for restore and sync"
        )
        parser.add_argument("--rounds", type=int, default=11, help=f"at least {LEAST_ROUNDS}")
        parser.add_argument("--short", action="store_true", help="one round: that it runs; its times say nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        rounds, visits = (1, 1) if options["short"] else (max(LEAST_ROUNDS, options["rounds"]), VISITS)
        if options["what"] == "recipe":
            figures = list(recipe(rounds))
        elif options["what"] == "restore":
            figures = list(restoring(options["rows"]))
        elif options["what"] == "forecast":
            figures = list(forecast(rounds))
        elif options["what"] == "sync":
            collect_static()
            figures = list(sending(rounds, options["rows"]))
        elif options["what"] == "import":
            collect_static()
            figures = list(importing(options["rows"]))
        else:
            collect_static()
            figures = [*board(rounds), *recording(rounds, visits)]
        plain = json.dumps([one.plain() for one in figures], indent=1)
        self.stdout.write(plain if options["json"] else table(figures))
        if options["strict"] and any(one.holds is False for one in figures):
            raise CommandError("A bar does not hold.", returncode=1)
