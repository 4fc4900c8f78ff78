"""`manage.py twin`: forecasts of heaps that equations of another kind made, or that stand in files, scored."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from cooperative.twin import people, records, scoring, telling
from cooperative.twin.foretelling import see
from cooperative.twin.records import Came, Records
from cooperative.twin.scoring import Line
from cooperative.twin.worlds import HELD_OUT, TUNED, World
from heaps.science.living.parameters import MEMBERS, drawn

SEED = 1
#: Of a written world's heaps at each cooperative, so many come with their harvest.
PAST = 10


class Command(BaseCommand):
    help = (
        "Score forecasts on worlds made by equations of another kind (four that nobody tuned by), or forecast heaps "
        "that stand in plain files: cooperative/twin/README.md."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--world", choices=[one.name for one in (*TUNED, *HELD_OUT)], help="only this one")
        parser.add_argument("--tuned", action="store_true", help="the worlds that were looked at while tuning")
        parser.add_argument("--coops", type=int, default=20, help="cooperatives in each world")
        parser.add_argument("--heaps", type=int, default=12, help="heaps of each cooperative")
        parser.add_argument("--members", type=int, default=MEMBERS, help="possible heaps for each forecast")
        parser.add_argument("--json", action="store_true", help="for a program")
        parser.add_argument("--strict", action="store_true", help="end with 1 when something aimed at was missed")
        parser.add_argument("--records", type=Path, help="a folder of plain files to forecast instead")
        parser.add_argument("--answers", type=Path, help="what came of its heaps; read after all is foretold")
        parser.add_argument("--write", type=Path, help="write --world as such a folder, its answers beside it")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["write"]:
                self._write(options)
            elif options["records"]:
                self._records(options)
            else:
                self._worlds(options)
        except (records.Unreadable, FileNotFoundError) as wrong:
            raise CommandError(str(wrong)) from wrong

    def _worlds(self, options: dict[str, Any]) -> None:
        members, of_worlds = drawn(SEED, options["members"]), {}
        all_lines: list[Line] = []
        all_came: dict[str, Came] = {}
        for world in _chosen(options):
            kept, came = people.live(world, options["coops"], options["heaps"])
            lines = scoring.lines(see(Records(kept), members), came, all_are_asked=True)
            of_worlds[world.name] = scoring.scored(lines, came)
            all_lines += lines
            all_came |= came
            if not options["json"]:
                title = f"\n{world.name}: {len(kept)} heaps, {len(kept) - len(came)} never ready and left out"
                self.stdout.write(telling.table(title, of_worlds[world.name]))
        pooled = scoring.scored(all_lines, all_came)
        aims = telling.goals(of_worlds, pooled)
        if options["json"]:
            rows = {name: telling.plain(one) for name, one in (*of_worlds.items(), ("all", pooled))}
            self.stdout.write(json.dumps({"worlds": rows, "aims": dict(aims)}, indent=1))
        else:
            self.stdout.write(telling.table("\nall", pooled))
            self.stdout.write("\n" + "\n".join(f"{'yes' if reached else 'NO ':3} {aim}" for aim, reached in aims))
        if options["strict"] and not all(reached for _, reached in aims):
            raise CommandError("Something aimed at was missed.", returncode=1)

    def _records(self, options: dict[str, Any]) -> None:
        told = records.read(options["records"])
        lines = scoring.lines(see(told, drawn(SEED, options["members"])), told.harvests, all_are_asked=False)
        if options["answers"]:
            rows = scoring.scored(lines, records.answers(options["answers"]))
            if not rows:
                raise CommandError("None of the answers is of a heap that was asked about: one without a harvest.")
            self.stdout.write(json.dumps(telling.plain(rows), indent=1) if options["json"] else telling.table("", rows))
        else:
            self.stdout.write(telling.as_csv(lines), ending="")

    def _write(self, options: dict[str, Any]) -> None:
        world = next(_chosen(options))
        kept, came = people.live(world, options["coops"], options["heaps"])
        past = {one.heap for place, one in enumerate(kept) if place % options["heaps"] < PAST}
        told = Records(kept, {heap: one for heap, one in came.items() if heap in past})
        answers = options["write"].with_name(options["write"].name + "-answers.csv")
        records.write(told, options["write"], {heap: one for heap, one in came.items() if heap not in past}, answers)
        self.stdout.write(f"{world.name}: {options['write']}, answers in {answers}")


def _chosen(options: dict[str, Any]) -> Iterator[World]:
    worlds = TUNED if options["tuned"] else HELD_OUT
    yield from (
        one for one in ((*TUNED, *HELD_OUT) if options["world"] else worlds) if options["world"] in (None, one.name)
    )
