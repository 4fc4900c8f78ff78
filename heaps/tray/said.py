"""An entry in plain words, so that somebody can judge it without having been there."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, cast

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from heaps import wording
from heaps.advice_words import DEEDS, shown_by, sign_word
from heaps.ledger import kinds
from heaps.ledger.kinds import Kind
from heaps.science.materials import Materials
from heaps.science.signs import Do
from members.numerals import exact, halves


@dataclass(frozen=True)
class Names:
    """What bays are called, by their uids, and materials."""

    bays: Mapping[str, str]
    materials: Materials


def said(what: Kind, bay: str | None, names: Names) -> str:
    """What an entry says; bays and materials are called by `names`."""
    where = _name(bay, names)
    return TELLERS[type(what)](what, where, names)


def _dropoff(what: Any, where: str, names: Names) -> str:
    load = cast(kinds.Dropoff, what)
    amount = _("%(number)s × %(litres)s litres of %(material)s") % {
        "number": halves(load.half_containers),
        "litres": _litres(load.container_ml),
        "material": _(names.materials[load.feedstock].short),
    }
    weighed = f", {_('weighed')} {exact(load.weighed_g, 1000)} kg" if load.weighed_g is not None else ""
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
        "bags": halves(taken.half_bags),
        "litres": _litres(taken.bag_ml),
        "sieved": wording.said("sieved", taken.sieved),
    }


def _collection(what: Any, where: str, names: Names) -> str:
    fetched = cast(kinds.Collection, what)
    values = {"bags": halves(fetched.half_bags), "litres": _litres(fetched.bag_ml)}
    return _("%(bags)s bags of %(litres)s litres fetched") % values


def _reading(what: Any, where: str, names: Names) -> str:
    seen = cast(kinds.Reading, what)
    parts = [
        f"{exact(seen.temp_tenths_c, 10)} °C" if seen.temp_tenths_c is not None else "",
        wording.said("place", seen.place) if seen.place else "",
        f"{_('squeeze test')}: {wording.said('squeeze', seen.squeeze)}" if seen.squeeze else "",
        f"{seen.fill_per_cent} % {_('full')}" if seen.fill_per_cent is not None else "",
        *(wording.said("sign", sign) for sign in seen.signs),
    ]
    return f"{_('reading at')} {where}: {', '.join(part for part in parts if part)}"


def _opening(what: Any, where: str, names: Names) -> str:
    lay = cast(kinds.Opening, what)
    make_up = ", ".join(f"{_(names.materials[key].short)} {share} %" for key, share in lay.make_up)
    return f"{where} {_('already held')} {_litres(lay.volume_ml)} {_('litres')}: {make_up}"


def _refused_load(what: Any, where: str, names: Names) -> str:
    refused = cast(kinds.RefusedLoad, what)
    return _("turned away: %(material)s (%(why)s)") % {
        "material": _(names.materials[refused.feedstock].short),
        "why": wording.said("why", refused.why),
    }


def _stocktake(what: Any, where: str, names: Names) -> str:
    found = cast(kinds.Stocktake, what)
    return _("in store: %(number)s × %(litres)s litres of %(material)s") % {
        "number": halves(found.half_containers),
        "litres": _litres(found.container_ml),
        "material": _(names.materials[found.feedstock].short) if found.feedstock else _("compost"),
    }


def _spread(what: Any, where: str, names: Names) -> str:
    spread = cast(kinds.Spread, what)
    deep = f", {exact(spread.depth_mm, 10)} cm {_('deep')}" if spread.depth_mm else ""
    return f"{_('mulched')} {exact(spread.tenths_m2, 10)} m²{deep}"


def _soak(what: Any, where: str, names: Names) -> str:
    soaked = cast(kinds.Soak, what)
    way = _("into the soaking tub") if soaked.way == "in" else _("out of the soaking tub")
    amount = f"{halves(soaked.half_containers)} × {_litres(soaked.container_ml)} {_('litres')}"
    return f"{wording.said('weed', soaked.weed)} {way}: {amount}"


def _weighing(what: Any, where: str, names: Names) -> str:
    weighed = cast(kinds.Weighing, what)
    return _("weighed %(litres)s litres of %(material)s: %(kilograms)s kg") % {
        "litres": _litres(weighed.container_ml),
        "material": _(names.materials[weighed.feedstock].short),
        "kilograms": exact(weighed.full_g - weighed.empty_g, 1000),
    }


def _gathering(what: Any, where: str, names: Names) -> str:
    came = cast(kinds.Gathering, what)
    return _("%(sort)s with %(people)s people") % {
        "sort": wording.said("sort", came.sort),
        "people": came.people,
    }


def _water(what: Any, where: str, names: Names) -> str:
    poured = cast(kinds.Water, what)
    return _("%(litres)s litres of water on %(bay)s") % {"litres": _litres(poured.volume_ml), "bay": where}


def _verdict(what: Any, where: str, names: Names) -> str:
    found = cast(kinds.Verdict, what)
    answer = _("ready") if found.ready == "ready" else _("not yet ready")
    shown = shown_by(found)
    return f"{where}: {answer} ({wording.said('test', found.test)})" + (f", {shown}" if shown else "")


def _sign(what: Any, where: str, names: Names) -> str:
    followed = cast(kinds.Sign, what)
    did = DEEDS[Do(followed.did)] if followed.did else {"seen": _("seen"), "gone": _("gone")}[followed.says]
    return f"{where}: {sign_word(followed.sign)}, {did}"


def _cover(what: Any, where: str, names: Names) -> str:
    put_on = cast(kinds.Cover, what).way == "on"
    return f"{_('cover put on') if put_on else _('cover taken off')} {where}".strip()


def _hours(what: Any, where: str, names: Names) -> str:
    given = cast(kinds.Hours, what)
    return _("%(minutes)s minutes by %(people)s people") % {"minutes": given.minutes, "people": given.people}


def _incident(what: Any, where: str, names: Names) -> str:
    told = f"{_('accident')} {where}".strip()
    return f"{told}: {wording.said('what', cast(kinds.Incident, what).what)}"


def _correction(what: Any, where: str, names: Names) -> str:
    correction = cast(kinds.Correction, what)
    if correction.what is None:
        return {"withdraw": _("an entry is withdrawn"), "stands": _("an entry stands")}[correction.says]
    return f"{_('instead of an earlier entry')}: {said(correction.what, correction.bay, names)}"


def _plainly(template: str | Promise) -> Callable[[Any, str, Names], str]:
    """A kind of which there is nothing to tell but the bay."""
    return lambda what, where, names: f"{template} {where}".strip()


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
    kinds.Water: _water,
    kinds.Close: _plainly(_lazy("closed:")),
    kinds.Reopen: _plainly(_lazy("opened again:")),
    kinds.TipOut: _plainly(_lazy("emptied without a harvest:")),
    kinds.Note: _plainly(_lazy("a note")),
    kinds.Verdict: _verdict,
    kinds.Sign: _sign,
    kinds.Cover: _cover,
    kinds.Hours: _hours,
    kinds.Incident: _incident,
    kinds.Correction: _correction,
}


def _name(bay: str | None, names: Names) -> str:
    return names.bays.get(bay, _("a bay not known here")) if bay else ""


def _litres(millilitres: int) -> str:
    return exact(millilitres, 1000)
