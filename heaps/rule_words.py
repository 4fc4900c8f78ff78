"""The published rules of heat, as a page says them: whose they are, what they ask for, what the log lacks."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from heaps.science.heat_rules import ONE_PROBE, HeatRule, Held
from heaps.science.sanitation import AtPlace
from members.numerals import significant

WHOSE: dict[str, str | Promise] = {
    "us further reduction, windrow": _("US rule for sludge, long heaps"),
    "us further reduction, vessel or aerated": _("US rule for sludge, closed or blown"),
    "us significant reduction": _("US rule for sludge, the milder one"),
    "us organic, windrow": _("US organic rule, long heaps"),
    "us organic, vessel or aerated": _("US organic rule, closed or blown"),
    "uk catering waste, closed, 60 C": _("UK table for kitchen waste, closed, slow"),
    "uk catering waste, closed, 70 C": _("UK table for kitchen waste, closed, hot"),
    "uk catering waste, housed windrow": _("UK table for kitchen waste, in a hall"),
    "uk pas 100 guideline": _("UK guideline for plants (PAS 100)"),
    "german, open, 55 C": _("German rule, 55 °C"),
    "german, open, 65 C": _("German rule, 65 °C"),
    "german, enclosed, 60 C": _("German rule, closed plants"),
    "eu product, 70 C": _("EU rule for goods on sale, 70 °C"),
    "eu product, 65 C": _("EU rule for goods on sale, 65 °C"),
    "eu product, 60 C": _("EU rule for goods on sale, 60 °C"),
    "eu product, 55 C": _("EU rule for goods on sale, 55 °C"),
    "manitoba, windrow": _("A Canadian rule, long heaps"),
    "manitoba, vessel": _("A Canadian rule, closed"),
    "clubroot, 50 C in flasks": _("Study: clubroot in flasks, 50 °C"),
    "clubroot, 60 C in flasks": _("Study: clubroot in flasks, 60 °C"),
    "most plant diseases": _("Studies: most plant diseases"),
    "tobacco mosaic virus": _("Studies: a virus of tobacco"),
    "seed of 12 weeds": _("Study: seed of 12 weeds"),
    "seed of 4 of 6 weeds": _("Study: seed of 4 weeds of 6"),
}
#: Hot for so long at a stretch counts as hot in the open data; never warmer than this as cold.
LONG_H, COLD_C = 100, 30.0
DAY_H = 24


def asks(rule: HeatRule) -> str:
    """What a rule asks for, in one line."""
    parts = [_held(rule.held)]
    if rule.inside:
        parts.append(_("in it {held}").format(held=_held(rule.inside)))
    if rule.turns:
        parts.append(turns(rule.turns))
    if rule.c_to_n:
        parts.append(
            _("C:N {low} to {high} at the start").format(
                low=significant(rule.c_to_n[0]), high=significant(rule.c_to_n[1])
            )
        )
    return ", ".join(str(part) for part in parts)


def lacks(rule: HeatRule, at: AtPlace) -> str:
    """What is missing of a rule at one place; empty where nothing is."""
    missing = [
        time(at.missing_hours) if at.missing_hours else "",
        turns(at.missing_turns) if at.missing_turns else "",
        _held(Held(rule.inside.temp_c, at.missing_inside_hours, rule.inside.strictly))
        if rule.inside and at.missing_inside_hours
        else "",
    ]
    return ", ".join(part for part in missing if part)


def time(hours: float) -> str:
    """Hours as days, where it is a day or more."""
    if hours < DAY_H:
        return ngettext("{n} hour", "{n} hours", int(-(-hours // 1))).format(n=significant(hours))
    days = hours / DAY_H
    return ngettext("{n} day", "{n} days", int(-(-days // 1))).format(n=significant(days))


def turns(number: int) -> str:
    """So many turns."""
    return ngettext("{n} turn", "{n} turns", number).format(n=number)


def one_probe() -> dict[str, int]:
    """What fifteen probes in one heap showed: how few were hot for long, and how many never got warm."""
    hot = [one.longest_h_at_55 for one in ONE_PROBE if one.longest_h_at_55 >= LONG_H]
    cold = sum(one.highest_c <= COLD_C for one in ONE_PROBE)
    return {"probes": len(ONE_PROBE), "hot": len(hot), "least": min(hot), "most": max(hot), "cold": cold}


def _held(held: Held) -> str:
    says = _("over {temp} °C for {time}") if held.strictly else _("{temp} °C or more for {time}")
    if held.most_c is not None:
        says = _("{temp} to {most} °C for {time}")
    line = says.format(
        temp=significant(held.temp_c), most=held.most_c and significant(held.most_c), time=time(held.hours)
    )
    return _("{held} in all").format(held=line) if held.added_up else str(line)
