"""Make the forecasts that are due. For a timer: run often, it only makes what was touched since."""

import sys
import time
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from heaps.foreseeing import forecast_all


class Command(BaseCommand):
    help = "Make the forecast of each heap: once a day of all, at any time of those something was recorded of."

    def handle(self, *args: Any, **options: Any) -> None:
        began, forecasts, faults = time.perf_counter(), 0, 0
        for made in forecast_all(timezone.now()):
            forecasts += made.forecasts
            if made.fault:
                faults += 1
                self.stderr.write(f"{made.site}: {made.fault}")
            elif made.forecasts or made.lessons:
                self.stdout.write(f"{made.site}: {made.forecasts} heaps, {made.lessons} past ones")
        self.stdout.write(f"heaps = {forecasts}, seconds = {time.perf_counter() - began:.1f}")
        if faults:
            sys.exit(1)
