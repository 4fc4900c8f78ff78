"""What else happened to a heap, besides loads, readings and turns: each entry as one plain line."""

from collections.abc import Callable
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from heaps.advice_words import DEEDS, shown_by, sign_word
from heaps.ledger import Kind, kinds
from heaps.science.materials import Materials
from heaps.science.signs import Do
from heaps.value_words import VALUE_WORDS
from members.numerals import exact, halves, significant


def line_of(what: Kind, materials: Materials) -> str | None:
    """The entry in plain words; None for loads, readings and turns, which have places of their own."""
    if tell := LINES.get(type(what)):
        return tell(what)
    tell_by_name = NAMING.get(type(what))
    return tell_by_name(what, materials) if tell_by_name else None


def _opening(what: kinds.Opening) -> str:
    return _("Already here on the first day: {amount}, guessed").format(amount=_litres(what.volume_ml))


def _water(what: kinds.Water) -> str:
    return ngettext("{n} litre of water", "{n} litres of water", _number(what.volume_ml)).format(
        n=exact(what.volume_ml, 1000)
    )


def _verdict(what: kinds.Verdict) -> str:
    line = _("Ready, by {test}") if what.ready == "ready" else _("Not ready yet, by {test}")
    shown = shown_by(what)
    return line.format(test=VALUE_WORDS["test"][what.test]) + (f": {shown}" if shown else "")


def _sign(what: kinds.Sign) -> str:
    sign = sign_word(what.sign)
    if what.did:
        return _("{sign}: {deed}").format(sign=sign, deed=DEEDS[Do(what.did)])
    return (_("{sign}: gone") if what.says == "gone" else _("{sign}: seen")).format(sign=sign)


def _harvest(what: kinds.Harvest) -> str:
    line = _("Harvested {bags}, {sieved}").format(bags=_bags(what.half_bags), sieved=VALUE_WORDS["sieved"][what.sieved])
    return line if what.per_cent == 100 else f"{line}: {_('{n} % of the heap').format(n=what.per_cent)}"


def _collection(what: kinds.Collection) -> str:
    return _("{bags} fetched").format(bags=_bags(what.half_bags))


def _hours(what: kinds.Hours) -> str:
    return f"{_minutes(what.minutes)}, {_people(what.people)}"


def _refused(what: kinds.RefusedLoad, materials: Materials) -> str:
    return _("Turned away: {what} ({why})").format(
        what=_name(what.feedstock, materials), why=VALUE_WORDS["why"][what.why]
    )


def _cover(what: kinds.Cover) -> str:
    return _("Covered") if what.way == "on" else _("Cover taken off")


def _stocktake(what: kinds.Stocktake, materials: Materials) -> str:
    amount = f"{halves(what.half_containers)} × {_litres(what.container_ml)}"
    material = _name(what.feedstock, materials) if what.feedstock else _("compost")
    return _("In store: {what}").format(what=_("{amount} of {material}").format(amount=amount, material=material))


def _spread(what: kinds.Spread) -> str:
    line = ngettext("Mulched {n} square metre", "Mulched {n} square metres", _number(what.tenths_m2 * 100))
    deep = f", {_('{n} cm deep').format(n=exact(what.depth_mm, 10))}" if what.depth_mm else ""
    return line.format(n=exact(what.tenths_m2, 10)) + deep


def _soak(what: kinds.Soak) -> str:
    amount = f"{halves(what.half_containers)} × {_litres(what.container_ml)}"
    load = _("{amount} of {material}").format(amount=amount, material=VALUE_WORDS["weed"][what.weed])
    return (_("{load} into the tub") if what.way == "in" else _("{load} out of the tub")).format(load=load)


def _weighing(what: kinds.Weighing, materials: Materials) -> str:
    load = _("{amount} of {material}").format(
        amount=_litres(what.container_ml), material=_name(what.feedstock, materials)
    )
    return _("Weighed: {load}, {kg} kg").format(load=load, kg=exact(what.full_g - what.empty_g, 1000))


def _gathering(what: kinds.Gathering) -> str:
    return _("{what}: {people}").format(what=VALUE_WORDS["sort"][what.sort], people=_people(what.people))


def _incident(what: kinds.Incident) -> str:
    return _("Went wrong: {what}").format(what=VALUE_WORDS["what"][what.what])


#: By kind. A note's words are somebody's own and stand on no page that phones keep.
LINES: dict[type, Callable[[Any], str]] = {
    kinds.Opening: _opening,
    kinds.Water: _water,
    kinds.Close: lambda what: _("Closed: nothing more goes in"),
    kinds.Reopen: lambda what: _("Opened for feeding again"),
    kinds.Verdict: _verdict,
    kinds.Harvest: _harvest,
    kinds.TipOut: lambda what: _("Emptied without a harvest"),
    kinds.Collection: _collection,
    kinds.Hours: _hours,
    kinds.Note: lambda what: _("A note"),
    kinds.Cover: _cover,
    kinds.Spread: _spread,
    kinds.Soak: _soak,
    kinds.Sign: _sign,
    kinds.Gathering: _gathering,
    kinds.Incident: _incident,
}
#: Those that name a material, as the cooperative calls it.
NAMING: dict[type, Callable[[Any, Materials], str]] = {
    kinds.RefusedLoad: _refused,
    kinds.Stocktake: _stocktake,
    kinds.Weighing: _weighing,
}


def _number(thousandths: int) -> int:
    """The whole number whose form goes with it: 1.5 reads as 2 does."""
    return -(-thousandths // 1000)


def _litres(millilitres: int) -> str:
    return ngettext("{n} litre", "{n} litres", _number(millilitres)).format(n=exact(millilitres, 1000))


def _bags(half_bags: int) -> str:
    return ngettext("{bags} bag", "{bags} bags", -(-half_bags // 2)).format(bags=halves(half_bags))


def _minutes(minutes: int) -> str:
    return ngettext("{n} hour", "{n} hours", -(-minutes // 60)).format(n=significant(minutes / 60))


def _people(number: int) -> str:
    return ngettext("{n} person", "{n} people", number).format(n=number)


def _name(feedstock: str, materials: Materials) -> str:
    return _(materials[feedstock].short)
