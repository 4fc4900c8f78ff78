"""What is usual: a site's brown and green, each in the container it usually comes in, and the cooperative's bag."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import NamedTuple

from heaps.science.advice import ROTTED
from heaps.science.feedstocks import Feedstock
from heaps.science.materials import Materials
from members.models import Cooperative

USUAL_BAG_LITRES = 40  # until the cooperative is named; the common size on UK shelves (common practice)


class Usual(NamedTuple):
    """A material in its usual container; `container_ml` is what that holds as it is usually filled."""

    feedstock: str
    container: str
    container_ml: int
    container_uid: str


class Brought(NamedTuple):
    """How many loads of a material came in a container; without a name, in one of another size."""

    feedstock: str
    loads: int
    container: str | None
    container_ml: int
    container_uid: str


def most_used(brought: Iterable[Brought], wanted: Callable[[Feedstock], bool], materials: Materials) -> Usual | None:
    """Of the wanted materials on offer that ever came in a known container the one with most loads, in the container
    it came in most often."""
    loads: dict[str, int] = defaultdict(int)
    best: dict[str, tuple[int, str, int, str]] = {}
    for feedstock, number, container, container_ml, uid in brought:
        if feedstock in materials.withdrawn or feedstock not in materials or not wanted(materials[feedstock]):
            continue
        loads[feedstock] += number
        if container is not None:
            best[feedstock] = max(best.get(feedstock, (0, "", 0, "")), (number, container, container_ml, uid))
    feedstock = max(sorted(best), key=lambda key: loads[key], default="")
    return Usual(feedstock, *best[feedstock][1:]) if feedstock else None


def sizes_of(brought: Iterable[Brought]) -> tuple[tuple[int, str], ...]:
    """The known containers that loads came in: what each holds as it is usually filled, and its name."""
    return tuple(sorted({(one.container_ml, one.container) for one in brought if one.container is not None}))


def dries(stuff: Feedstock) -> bool:
    """Whether it is a brown or a structural material; what has rotted already is neither."""
    return stuff.group in ("brown", "structural") and stuff.ash_class not in ROTTED


def feeds(stuff: Feedstock) -> bool:
    """Whether it is a green."""
    return stuff.group == "green"


def usual_bag_litres() -> int:
    """What one bag holds at this cooperative."""
    return Cooperative.objects.values_list("bag_litres", flat=True).first() or USUAL_BAG_LITRES
