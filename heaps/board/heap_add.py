"""What to add, as a heap's own page tells it; and the lines that the board lacks."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import TextField
from django.db.models.functions import Cast
from django.utils.translation import gettext as _

from heaps import ledger
from heaps.board import adding
from heaps.board.add_words import Told, amounts, line, sized, told
from heaps.board.board import sites_now, used_at, what_is_used
from heaps.foretold import Foretold, behind, foretold
from heaps.models import Bay, Site, known_materials
from heaps.science.materials import Materials
from heaps.science.recipe import Outcome
from heaps.store import Held
from heaps.sums import room_l

#: So many recipes at most for one look at the board: a second's work. The rest is made for the next.
AT_ONCE = 40
#: A count of a store that is older is not relied on unseen (common practice).
OLD_COUNT_DAYS = 30


@dataclass(frozen=True)
class InStore:
    """A line of a site's store: how much is left at least, of what, since which count, and what went in since."""

    says: str
    material: str
    counted_on: date
    days_ago: int
    went_ml: int


@dataclass(frozen=True)
class Add:
    """What to add: the best choice and others; `missing` is what the best needs from elsewhere; `room_l` is what still
    fits in, if it is known; `behind`: the heap is taken as it went in until it is forecast anew."""

    best: Told | None
    others: tuple[Told, ...]
    missing: str
    in_store: tuple[InStore, ...]
    room_l: float | None
    behind: bool

    @property
    def does_not_fit(self) -> bool:
        """Whether the bay has no room for all of the best."""
        return self.best is not None and self.room_l is not None and self.best.takes_l > self.room_l

    @property
    def was_counted_long_ago(self) -> bool:
        """Whether somebody should look before they rely on it."""
        return any(one.days_ago > OLD_COUNT_DAYS for one in self.in_store)

    @property
    def stands_there(self) -> bool:
        """Whether what is in store will do."""
        return self.best is not None and not self.missing


def add_to(bay: Bay, state: ledger.BayState, ahead: Foretold | None, now: datetime, materials: Materials) -> Add | None:
    """What to add to a heap, reckoned if need be; None where nothing is asked. `bay.site` must have been fetched."""
    still = ahead.still if ahead else None
    shed = adding.shed_of(bay.site, used_at(bay.site, materials), materials)
    about = adding.asked(state, bay.kind == Bay.Kind.LEAF, shed, now, materials, still)
    if about is None or state.batch is None:
        return None
    found = adding.answered(bay, about)
    choices = [told(one, about, shed, materials) for one in found.choices]
    missing = adding.wanting(found.choices[0], found.missing) if found.outcome == Outcome.FETCH else {}
    return Add(
        best=choices[0] if choices else None,
        others=tuple(choices[1:]),
        missing=amounts(missing, shed, materials) if missing else "",
        in_store=in_store(bay.site, shed.held, now, materials),
        room_l=room_l(state, bay.volume_ml, now),
        behind=behind(state.batch, still, ahead is not None),
    )


def in_store(site: Site, held: tuple[Held, ...], now: datetime, materials: Materials) -> tuple[InStore, ...]:
    """What stands in store at a site, in words."""
    today = site.day_of(now)
    return tuple(
        InStore(
            sized(one.containers, one.container, one.container_ml),
            _(materials[one.feedstock].short),
            counted_on := one.counted_on(site.time_zone),
            (today - counted_on).days,
            one.went_ml,
        )
        for one in held
    )


def lines_lacking(now: datetime) -> dict[str, str]:
    """By bay, the board's lines that nobody had reckoned yet: reckoned now, and kept."""
    wanted = [bay.bay.uid for site in sites_now(now) for bay in site.bays if bay.to_reckon][:AT_ONCE]
    bays = Bay.objects.filter(uid__in=wanted).select_related("stored", "site")
    with_stores = bays.annotate(counted=Cast("site__store__counted", TextField()))
    materials = known_materials()
    stores = {bay.site_id: bay.counted for bay in with_stores}
    sheds = adding.sheds(stores, what_is_used(set(stores), materials), materials)
    states = {bay.pk: ledger.from_plain(bay.stored.state) for bay in with_stores}
    ahead = foretold({pk: state.batch for pk, state in states.items()})
    found = {}
    for bay in with_stores:
        shed, known, state = sheds[bay.site_id], ahead.get(bay.pk), states[bay.pk]
        still = known.still if known else None
        about = adding.asked(state, False, shed, now, materials, still)
        if about and state.batch:
            is_behind = behind(state.batch, still, known is not None)
            found[str(bay.uid)] = line(adding.answered(bay, about), shed, materials, is_behind)
    return found
