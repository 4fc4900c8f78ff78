"""An entry in plain words, so that somebody can judge it without having been there."""

from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any, cast

from django.utils.translation import gettext as _

from heaps.ledger import kinds
from heaps.ledger.kinds import Kind
from heaps.science.feedstocks import FEEDSTOCKS

Names = Mapping[str, str]


def said(what: Kind, bay: str | None, names: Names) -> str:
    """What an entry says; bays are named by `names`, by their uids."""
    where = _name(bay, names)
    if teller := TELLERS.get(type(what)):
        return teller(what, where, names)
    values = ", ".join(f"{_plain(one.name)} {value}" for one, value in _given(what))
    return ": ".join(part for part in (f"{_plain(what.kind)} {where}".strip(), values) if part)


def _dropoff(what: Any, where: str, names: Names) -> str:
    load = cast(kinds.Dropoff, what)
    amount = _("%(number)s × %(litres)s litres of %(material)s") % {
        "number": _half(load.half_containers),
        "litres": _litres(load.container_ml),
        "material": FEEDSTOCKS[load.feedstock].short,
    }
    weighed = f", {_('weighed')} {load.weighed_g / 1000:g} kg" if load.weighed_g is not None else ""
    return f"{amount}{weighed} {_('into')} {where}"


def _turn(what: Any, where: str, names: Names) -> str:
    sources = ", ".join(
        _name(share.bay, names) + (f" ({share.per_cent} %)" if share.per_cent != 100 else "")
        for share in cast(kinds.Turn, what).sources
    )
    return f"{_('turn of')} {sources} {_('into')} {where}"


def _harvest(what: Any, where: str, names: Names) -> str:
    taken = cast(kinds.Harvest, what)
    return _("harvest of %(share)s %% of %(bay)s: %(bags)s bags of %(litres)s litres, %(sieved)s") % {
        "share": taken.per_cent,
        "bay": where,
        "bags": _half(taken.half_bags),
        "litres": _litres(taken.bag_ml),
        "sieved": taken.sieved,
    }


def _collection(what: Any, where: str, names: Names) -> str:
    fetched = cast(kinds.Collection, what)
    values = {"bags": _half(fetched.half_bags), "litres": _litres(fetched.bag_ml)}
    return _("%(bags)s bags of %(litres)s litres fetched") % values


def _reading(what: Any, where: str, names: Names) -> str:
    seen = cast(kinds.Reading, what)
    parts = [
        f"{seen.temp_tenths_c / 10:g} °C {seen.place or ''}".strip() if seen.temp_tenths_c is not None else "",
        f"{_('squeeze test')} {seen.squeeze}" if seen.squeeze else "",
        f"{seen.fill_per_cent} % {_('full')}" if seen.fill_per_cent is not None else "",
        ", ".join(seen.signs),
    ]
    return f"{_('reading at')} {where}: {', '.join(part for part in parts if part)}"


def _opening(what: Any, where: str, names: Names) -> str:
    lay = cast(kinds.Opening, what)
    make_up = ", ".join(f"{FEEDSTOCKS[key].short} {share} %" for key, share in lay.make_up)
    return f"{where} {_('already held')} {_litres(lay.volume_ml)} {_('litres')}: {make_up}"


def _refused_load(what: Any, where: str, names: Names) -> str:
    refused = cast(kinds.RefusedLoad, what)
    return _("turned away: %(material)s (%(why)s)") % {
        "material": FEEDSTOCKS[refused.feedstock].short,
        "why": refused.why,
    }


def _stocktake(what: Any, where: str, names: Names) -> str:
    found = cast(kinds.Stocktake, what)
    return _("in store: %(number)s × %(litres)s litres of %(material)s") % {
        "number": _half(found.half_containers),
        "litres": _litres(found.container_ml),
        "material": FEEDSTOCKS[found.feedstock].short if found.feedstock else _("compost"),
    }


def _spread(what: Any, where: str, names: Names) -> str:
    spread = cast(kinds.Spread, what)
    deep = f", {spread.depth_mm / 10:g} cm {_('deep')}" if spread.depth_mm else ""
    return f"{_('mulched')} {spread.tenths_m2 / 10:g} m²{deep}"


def _soak(what: Any, where: str, names: Names) -> str:
    soaked = cast(kinds.Soak, what)
    way = _("into the soaking tub") if soaked.way == "in" else _("out of the soaking tub")
    amount = f"{_half(soaked.half_containers)} × {_litres(soaked.container_ml)} {_('litres')}"
    return f"{soaked.weed} {way}: {amount}"


def _weighing(what: Any, where: str, names: Names) -> str:
    weighed = cast(kinds.Weighing, what)
    return _("weighed %(litres)s litres of %(material)s: %(kilograms)s kg") % {
        "litres": _litres(weighed.container_ml),
        "material": FEEDSTOCKS[weighed.feedstock].short,
        "kilograms": f"{(weighed.full_g - weighed.empty_g) / 1000:g}",
    }


def _gathering(what: Any, where: str, names: Names) -> str:
    came = cast(kinds.Gathering, what)
    return _("%(sort)s with %(people)s people") % {"sort": came.sort, "people": came.people}


def _correction(what: Any, where: str, names: Names) -> str:
    correction = cast(kinds.Correction, what)
    if correction.what is None:
        return {"withdraw": _("an entry is withdrawn"), "stands": _("an entry stands")}[correction.says]
    return f"{_('instead of an earlier entry')}: {said(correction.what, correction.bay, names)}"


TELLERS: dict[type, Callable[[Any, str, Names], str]] = {
    kinds.Dropoff: _dropoff,
    kinds.Turn: _turn,
    kinds.Harvest: _harvest,
    kinds.Collection: _collection,
    kinds.Reading: _reading,
    kinds.Opening: _opening,
    kinds.RefusedLoad: _refused_load,
    kinds.Stocktake: _stocktake,
    kinds.Spread: _spread,
    kinds.Soak: _soak,
    kinds.Weighing: _weighing,
    kinds.Gathering: _gathering,
    kinds.Correction: _correction,
}


def _given(what: Kind) -> list[tuple[Any, Any]]:
    pairs = [(one, getattr(what, one.name)) for one in fields(what)]
    return [(one, value) for one, value in pairs if value not in (None, ())]


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _name(bay: str | None, names: Names) -> str:
    return names.get(bay, _("a bay not known here")) if bay else ""


def _half(number: int) -> str:
    return f"{number / 2:g}"


def _litres(millilitres: int) -> str:
    return f"{millilitres / 1000:g}"
