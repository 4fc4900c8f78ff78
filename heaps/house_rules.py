"""What a site asks for at its gate just now: stricter rules, and what it does not want for some days."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from heaps.models import Fresh, GateRule, Pause, many
from heaps.science.feedstocks import strictness
from heaps.science.materials import Materials


def stricter(rules: Iterable[GateRule], materials: Materials) -> dict[str, tuple[str, str]]:
    """By material: the word and the reason of each rule that is stricter than the cooperative's list.

    The list may have grown stricter since, or a row may have come past the form: such a rule says nothing.
    """
    return {
        rule.feedstock: (rule.acceptance, rule.reason)
        for rule in rules
        if rule.feedstock in materials
        and rule.acceptance in GateRule.Acceptance.values
        and _is_stricter(rule.acceptance, rule.feedstock, materials)
    }


def _is_stricter(acceptance: str, feedstock: str, materials: Materials) -> bool:
    return strictness(acceptance) > strictness(materials[feedstock].acceptance)


def accepted_as(feedstock: str, rules: Iterable[GateRule], materials: Materials) -> tuple[str, str]:
    """What may be done with a material at a site, and why: the stricter of the list and the site's rule."""
    listed = materials[feedstock]
    return stricter(rules, materials).get(feedstock, (listed.acceptance, _(listed.reason)))


def is_paused(group: str, pauses: Iterable[Pause], today: date) -> bool:
    """Whether the site does not want a group of materials today, or nothing at all."""
    return any(pause.what in (group, Pause.What.EVERYTHING) and pause.until >= today for pause in pauses)


def notices(pauses: Iterable[Pause], today: date) -> list[str]:
    """What is not wanted today, each as a line: until when, and why."""
    return [
        _("%(what)s until %(day)s. %(reason)s")
        % {
            "what": pause.get_what_display()[:1].upper() + pause.get_what_display()[1:],
            "day": date_format(pause.until, "l j F"),
            "reason": pause.reason,
        }
        for pause in pauses
        if pause.until >= today
    ]


def against_the_rules(rows: Sequence[Fresh], materials: Materials) -> list[Fresh]:
    """Fresh loads of what their site, or the cooperative, had already said never to take.

    They are in: it is asked about, not refused.

    A phone that was away when the rule was made could not know it, and what lies in the heap lies there.
    """
    loads = [row for row in rows if row.kind == "dropoff"]
    if not loads:
        return []
    sites = {row.site_id for row in loads}
    rules = many.find(GateRule, ("site_id", "feedstock", "since"), site_id=sites, acceptance=["never"])
    never: dict[tuple[int, str], datetime] = {
        (site_id, feedstock): since
        for site_id, feedstock, since in rules
        if feedstock in materials and _is_stricter("never", feedstock, materials)
    }
    for key, decided_at in materials.strict_since.items():
        if materials[key].acceptance == "never":
            never |= {(row.site_id, key): decided_at for row in loads}
    found = ((row, never.get((row.site_id, row.details["feedstock"]))) for row in loads)
    return [row for row, since in found if since and row.effective_at >= since]
