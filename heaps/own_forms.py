"""Forms about the cooperative's own values of materials, and about materials of its own."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.text import format_lazy
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from heaps.models import OwnValue
from heaps.own_values import GATE_WORDS, new_key, start_of
from heaps.science.feedstocks import FEEDSTOCKS, STRICTNESS, Feedstock, strictness
from heaps.science.materials import DENSITY, FIGURES, Materials
from members.fields import EitherComma, offer
from members.fields import words as line
from members.numerals import significant_when_read

Figure = OwnValue.Figure
LONGEST_NAME = 40
LABELS = {
    Figure.DENSITY: _("Weight of a cubic metre as tipped (kg)"),
    Figure.MOISTURE: _("Moisture (per cent of wet weight)"),
    Figure.NITROGEN: _("Nitrogen (per cent of dry matter)"),
    Figure.C_TO_N: _("C:N (carbon to one of nitrogen)"),
}
OFF_LIST = _("Choose one from the list.")
CHOOSE = {"required": OFF_LIST, "invalid_choice": OFF_LIST}
NO_NAMES = _("Everybody can read it. Name a group, not a person.")


def _number(figure: str, **options: Any) -> EitherComma:
    """A field for one figure, within what is possible at all."""
    bounds = FIGURES[figure]
    said = {"least": significant_when_read(bounds.least), "most": significant_when_read(bounds.most)}
    whole = figure == DENSITY
    unlike = _("This must be a whole number, like 180.") if whole else _("This must be a number, like 2.5.")
    outside = format_lazy(_("This cannot be: it must be from {least} to {most}. Look at it again."), **said)
    return EitherComma(
        label=options.pop("label", LABELS[Figure(figure)]),
        min_value=Decimal(str(bounds.least)),
        max_value=Decimal(str(bounds.most)),
        max_digits=None if whole else 8,
        decimal_places=0 if whole else 3,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={
            **dict.fromkeys(("required", "invalid", "max_digits", "max_decimal_places", "max_whole_digits"), unlike),
            **dict.fromkeys(("min_value", "max_value"), outside),
        },
        **options,
    )


class _OfMaterial(forms.Form):
    """A form on a material's page that makes one decision about it."""

    says = ""

    def __init__(self, materials: Materials, stuff: Feedstock, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", f"{self.says}_%s")
        super().__init__(*args, **kwargs)
        self.materials, self.stuff = materials, stuff

    def decision(self) -> OwnValue:
        """What the form says, not yet kept."""
        raise NotImplementedError

    def decide(self, figure: str, **said: Any) -> OwnValue:
        return OwnValue(feedstock=self.stuff.key, figure=figure, decided_at=timezone.now(), **said)


class DensityForm(_OfMaterial):
    """What a cubic metre weighs here, and for which loads that holds."""

    says = "density"
    number = _number(DENSITY)
    holds = forms.ChoiceField(
        label=_("It holds"),
        choices=[
            ("since", _("from a day on")),
            ("all", _("for all loads, old ones too")),
        ],
        error_messages=CHOOSE,
    )
    day = forms.DateField(
        label=_("From this day on"),
        required=False,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"invalid": _("This day cannot be read. Type it like 2026-05-03.")},
    )
    reason = line(_("How you know"), 160, _("weighed 12 sacks in May, the Saturday group"), help_text=NO_NAMES)

    def clean_day(self) -> date | None:
        day: date | None = self.cleaned_data["day"]
        if day and day.year < 1990:
            raise ValidationError(_now("This day is too long ago. Choose one after 1990."))
        if day and start_of(day) > timezone.now():
            raise ValidationError(_now("This day has not come yet. Choose today or an earlier one."))
        return day

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or self.cleaned_data
        if said.get("holds") == "since" and not said.get("day") and "day" not in self.errors:
            self.add_error("day", _now("The day is missing. Type it like 2026-05-03."))
        return said

    def decision(self) -> OwnValue:
        said = self.cleaned_data
        since = start_of(said["day"]) if said["holds"] == "since" else None
        return self.decide(Figure.DENSITY, number=said["number"], since=since, reason=said["reason"])


class FigureForm(_OfMaterial):
    """Moisture, nitrogen or C:N of a material as it comes here."""

    says = "figure"
    figure = forms.ChoiceField(label=_("Which figure"), error_messages=CHOOSE)
    number = forms.CharField(
        label=_("As it is here"), widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    )
    reason = line(_("How you know"), 160, _("dried three samples in the oven"), help_text=NO_NAMES)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        here = [one for one in figures_of(self.materials.listed[self.stuff.key]) if one != DENSITY]
        offer(self, "figure", ((one, LABELS[Figure(one)]) for one in here), first=_("choose one"))
        self.fields["number"].error_messages["required"] = _("This must be a number, like 2.5.")

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or self.cleaned_data
        if "figure" in said and "number" in said:
            try:
                said["number"] = _number(said["figure"]).clean(said["number"])
            except ValidationError as wrong:
                self.add_error("number", wrong)
        return said

    def decision(self) -> OwnValue:
        said = self.cleaned_data
        return self.decide(said["figure"], number=said["number"], reason=said["reason"])


class NameForm(_OfMaterial):
    """What people here call a material."""

    says = "name"
    words = line(_("Called here"), LONGEST_NAME, _("Chips from the park"), help_text=NO_NAMES)

    def clean_words(self) -> str:
        return free_name(self.cleaned_data["words"], self.materials, self.stuff.key)

    def decision(self) -> OwnValue:
        return self.decide(Figure.NAME, words=self.cleaned_data["words"])


class GateForm(_OfMaterial):
    """A stricter word at every gate of the cooperative."""

    says = "gate"
    chosen = forms.ChoiceField(label=_("At every gate it is"), error_messages=CHOOSE)
    reason = line(_("Why"), 160, _("it brought slugs last year"), help_text=NO_NAMES)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed = self.materials.listed[self.stuff.key].acceptance
        offer(self, "chosen", stricter_words(listed), first=_("choose one"))

    def decision(self) -> OwnValue:
        said = self.cleaned_data
        return self.decide(Figure.GATE, chosen=said["chosen"], reason=said["reason"], since=timezone.now())


class OwnMaterialForm(forms.Form):
    """A material that the list does not have, made from its nearest relative: what is left empty is the relative's."""

    relative = forms.ChoiceField(
        label=_("Its nearest relative on the list"),
        help_text=_("It lends its figures, its class and its word at the gate."),
        error_messages=CHOOSE,
    )
    name = line(_("What you call it"), LONGEST_NAME, _("Hops from the brewery"), help_text=NO_NAMES)
    acceptance = forms.ChoiceField(
        label=_("At the gate"), required=False, error_messages=CHOOSE, help_text=_("Never looser than its relative.")
    )
    density = _number("density", required=False, help_text=_("Left empty: as its relative. So are the next three."))
    moisture = _number("moisture", required=False)
    nitrogen = _number("nitrogen", required=False)
    c_to_n = _number("c_to_n", required=False)
    reason = line(_("What it is, and how you know the figures"), 160, _("spent hops, weighed"), help_text=NO_NAMES)

    def __init__(self, materials: Materials, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.materials = materials
        known = sorted(((key, _now(materials[key].short)) for key in FEEDSTOCKS), key=lambda one: one[1].lower())
        offer(self, "relative", known, first=_("choose one"))
        offer(self, "acceptance", stricter_words(STRICTNESS[0]), first=_("as its relative"))

    def clean_name(self) -> str:
        return free_name(self.cleaned_data["name"], self.materials)

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or self.cleaned_data
        if (relative := FEEDSTOCKS.get(said.get("relative", ""))) is None:
            return said
        if said.get("acceptance") and strictness(said["acceptance"]) < strictness(relative.acceptance):
            self.add_error("acceptance", _now("Its relative is stricter. What never goes in stays out."))
        for one in FIGURES:
            if said.get(one) is not None and one not in figures_of(relative):
                self.add_error(one, _now("Its relative has no such figure. Leave this empty."))
        return said

    def decisions(self) -> list[OwnValue]:
        """What makes the material, and what differs from its relative as it is called and weighed here."""
        said = self.cleaned_data
        relative, reason = said["relative"], said["reason"]
        both: dict[str, Any] = {"feedstock": new_key(), "decided_at": timezone.now()}
        made = [
            OwnValue(figure=Figure.RELATIVE, chosen=relative, reason=reason, **both),
            OwnValue(figure=Figure.NAME, words=said["name"], **both),
        ]
        word = said["acceptance"] or self.materials[relative].acceptance
        if strictness(word) > strictness(FEEDSTOCKS[relative].acceptance):
            made.append(OwnValue(figure=Figure.GATE, chosen=word, reason=reason, since=timezone.now(), **both))
        for figure, number, why in self._figures(relative):
            made.append(OwnValue(figure=figure, number=number, reason=why or reason, **both))
        return made

    def _figures(self, relative: str) -> Iterator[tuple[str, Decimal, str]]:
        """What was typed; else what the cooperative has found out about the relative itself."""
        for one, figure in FIGURES.items():
            here = figure.published(self.materials[relative])
            if (typed := self.cleaned_data[one]) is not None:
                yield one, typed, ""
            elif here and here.published:
                yield one, Decimal(f"{here.typical * figure.scale:.6g}"), here.source


def figures_of(stuff: Feedstock) -> list[str]:
    """Which figures a material has."""
    return [key for key, figure in FIGURES.items() if figure.published(stuff) is not None]


def stricter_words(listed: str) -> list[tuple[str, Any]]:
    """The words at the gate that are stricter than the published one."""
    return [(word, GATE_WORDS[word]) for word in STRICTNESS[strictness(listed) + 1 :]]


def free_name(name: str, materials: Materials, key: str = "") -> str:
    """A name that no other material has. Raises ValidationError."""
    plain = name.casefold()
    for other, stuff in materials.items():
        names = (stuff.short, stuff.name, _now(stuff.short), _now(stuff.name))
        if other != key and plain in [one.casefold() for one in names]:
            raise ValidationError(_now("There is already a material called so. Choose another name."))
    return name
