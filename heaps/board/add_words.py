"""What to add, in words: containers of a material, cans of water, and what is heavy among them."""

from dataclasses import dataclass

from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from heaps.board.adding import Asked, Shed, wanting
from heaps.board.words import counted, lower_first
from heaps.science.fewest import Choice
from heaps.science.materials import Materials
from heaps.science.recipe import HALVES, WATER, Outcome, Recipe, too_heavy_for_one
from heaps.science.targets import ACCEPTABLE, LEFT_ALONE
from members.numerals import rounded


@dataclass(frozen=True)
class Told:
    """One choice as a page tells it. `takes_l` is the room it takes in the bay; `heavy` are containers that one person
    should not lift full, with kilograms."""

    says: str
    c_to_n: float | None
    moisture_fraction: float | None
    free_air_space: float | None
    how_good: str
    takes_l: float
    heavy: tuple[tuple[str, float], ...]


def told(choice: Choice, about: Asked, shed: Shed, materials: Materials) -> Told:
    """A choice in words, with the mix that comes of it."""
    names = {key: _name(key, shed, materials) for key in choice.counts}
    heavy = too_heavy_for_one(choice, list(about.by_key.values()))
    return Told(
        says=in_words(choice, shed, materials),
        c_to_n=choice.mix.c_to_n,
        moisture_fraction=choice.mix.moisture_fraction,
        free_air_space=choice.mix.free_air_space,
        how_good=_how_good(choice, about),
        takes_l=choice.mix.heap_l - about.mix.heap_l,
        heavy=tuple((names[key], kg) for key, kg in heavy.items() if key != WATER),
    )


def in_words(choice: Choice, shed: Shed, materials: Materials) -> str:
    """ "2 sacks of straw and half a can of water"."""
    return amounts(dict(choice.counts), shed, materials)


def amounts(counts: dict[str, int], shed: Shed, materials: Materials) -> str:
    """So many containers of each, as a list in words. What stands there and what is fetched of it is one number."""
    standing = {one.feedstock: (one.container, one.container_ml) for one in shed.held}
    sums: dict[tuple[str, str, int], int] = {}
    for key, count in counts.items():
        sized_as = standing.get(key, (shed.fetch_in, shed.fetch_ml))
        place = (key.partition(",")[0], *sized_as)
        sums[place] = sums.get(place, 0) + count
    return get_text_list([_amount(*place, count, materials) for place, count in sums.items()], _("and"))


def line(found: Recipe, shed: Shed, materials: Materials, is_behind: bool) -> str:
    """The board's one line. Nobody is sent for what the next forecast may call too much."""
    if found.outcome == Outcome.STANDS_THERE:
        return _("From the store: %(what)s.") % {"what": in_words(found.choices[0], shed, materials)}
    if is_behind:
        return _("The store may not do. Something new was recorded: look again in half an hour.")
    if found.outcome == Outcome.FETCH:
        wanted = wanting(found.choices[0], found.missing)
        return _("The store cannot do it. Wanted: %(what)s.") % {"what": amounts(wanted, shed, materials)}
    return _("One day's work will not mend it. Do what it needs, then look again.")


def _how_good(choice: Choice, about: Asked) -> str:
    if choice.targets == about.aims[0]:
        return _("That is as it should be.")
    if choice.targets in (ACCEPTABLE, LEFT_ALONE):
        return _("That will do, though it is not ideal.")
    return ""


def _amount(feedstock: str, container: str, container_ml: int, count: int, materials: Materials) -> str:
    if feedstock == WATER:
        return _water(count)
    said = {"containers": sized(count, container, container_ml), "material": _material(feedstock, materials)}
    return _("%(containers)s of %(material)s") % said


def sized(count: int, container: str, container_ml: int) -> str:
    """ "2 sacks"; of a container without a name "2 × 54 litres"."""
    if container:
        return counted(count, container)
    return _("%(number)s × %(litres)s litres") % {"number": count, "litres": rounded(container_ml / 1000)}


def _name(key: str, shed: Shed, materials: Materials) -> str:
    return "" if key == WATER else _material(key.partition(",")[0], materials)


def _material(feedstock: str, materials: Materials) -> str:
    return lower_first(_(materials[feedstock].short))


def _water(halves: int) -> str:
    whole, half = divmod(halves, HALVES)
    if not whole:
        return _("half a can of water")
    number = f"{whole}½" if half else str(whole)
    return ngettext("%(number)s can of water", "%(number)s cans of water", whole + half) % {"number": number}
