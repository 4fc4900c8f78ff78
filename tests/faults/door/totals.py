"""The stored totals in the form in which `tests.recount` counts them anew."""

from typing import Any

from heaps.models import DayTotal

SUMS = ("entries", "wet_g", "volume_ml", "half_bags", "minutes", "people", "tenths_m2")


def kept_totals() -> dict[tuple[Any, ...], tuple[int, ...]]:
    """(bay uid, day, what, detail, basis) -> its seven sums."""
    rows = DayTotal.objects.values_list("bay__uid", "day", "what", "detail", "basis", *SUMS)
    return {(str(bay) if bay else None, *rest[:4]): tuple(rest[4:]) for bay, *rest in rows}
