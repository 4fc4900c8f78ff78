"""Forms about what a site asks for at its gate, and about its papers."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from heaps.models import Cap, GateRule, Papers, Pause, Site, known_materials
from heaps.models.gate import MOST_CAP
from heaps.science.feedstocks import STRICTNESS
from members.fields import CanBeSeen, EitherComma, offer, words

MOST_LINES = 7
OFF_LIST = _("Choose one from the list.")
CHOOSE = {"required": OFF_LIST, "invalid_choice": OFF_LIST}
NO_NAMES = _("Everybody can read it. Leave out names of people.")
DAY = {"invalid": _("This day cannot be read. Type it like 2026-05-03."), "required": _("The last day is missing.")}
CAP_UNLIKE = _("The most must be a number above 0, like 20 or 2.5.")


class RuleForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """A material that this site takes more strictly than the published list."""

    feedstock = forms.ChoiceField(label=_("Material"), error_messages=CHOOSE)
    reason = words(_("Why"), 160, _("rats came for it last winter"), help_text=NO_NAMES)

    class Meta:
        model = GateRule
        fields = ["feedstock", "acceptance", "reason"]
        labels = {"acceptance": _("Here it is")}
        error_messages = {"acceptance": CHOOSE}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "rule_%s"
        offer(self, "feedstock", _looser(), first=_("choose one"))
        offer(self, "acceptance", GateRule.Acceptance.choices, first=_("choose one"))


def _looser() -> list[tuple[str, str]]:
    """Every material that can be taken more strictly."""
    found = [(one.key, _now(one.short)) for one in known_materials().offered() if one.acceptance != STRICTNESS[-1]]
    return sorted(found, key=lambda one: one[1].lower())


class PauseForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """What a site does not want for some days."""

    until = forms.DateField(label=_("Until, that day too"), error_messages=DAY)
    reason = words(_("Why"), 160, _("the heap is wet enough"), help_text=NO_NAMES)

    class Meta:
        model = Pause
        fields = ["what", "until", "reason"]
        labels = {"what": _("What")}
        error_messages = {"what": CHOOSE}

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "pause_%s"
        self.today = today
        offer(self, "what", Pause.What.choices, first=_("choose one"))
        self.fields["until"].widget = _day_picker()

    def clean_until(self) -> date:
        return near(self.cleaned_data["until"], self.today)


class OpenTimesForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """When a site is open, in lines for everybody."""

    open_times = forms.CharField(
        label=_("When it is open"),
        required=False,
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 4, "autocomplete": "off"}),
        help_text=_("A line for each time, like: Saturday 10 to 12. Leave out names of people."),
        error_messages={"max_length": _("At most 400 characters. Make it shorter.")},
    )

    class Meta:
        model = Site
        fields = ["open_times"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "times_%s"

    def clean_open_times(self) -> str:
        lines = [line.strip() for line in str(self.cleaned_data["open_times"]).splitlines() if line.strip()]
        if len(lines) > MOST_LINES:
            raise ValidationError(_now("At most 7 lines. Put two times on one line."))
        for line in lines:
            CanBeSeen(_now("There are signs in it that cannot be seen. Type it by hand."))(line)
        return "\n".join(lines)


class PapersForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """What a site holds: permit or exemption, insurance, the landowner's consent, each with its last day."""

    permit = words(_("Exemption or permit number"), 120, "EX 1234", required=False)
    insurance = words(_("Insurance policy"), 120, "GL 5678", required=False)
    consent = words(
        _("The landowner's consent"),
        200,
        _("letter of May 2026"),
        required=False,
        help_text=_("Where the letter lies is enough. Only coordinators of all sites and administrators read it."),
    )

    class Meta:
        model = Papers
        fields = ["permit", "permit_until", "insurance", "insurance_until", "consent", "consent_until"]
        labels = {
            "permit_until": _("Renew it by"),
            "insurance_until": _("Insured until"),
            "consent_until": _("Consent lasts until"),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "papers_%s"
        for name in ("permit_until", "insurance_until", "consent_until"):
            self.fields[name].widget = _day_picker()
            self.fields[name].error_messages["invalid"] = DAY["invalid"]


class CapForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """The most that may lie at a site, typed in tonnes or cubic metres, kept in kilograms or litres."""

    feedstock = forms.ChoiceField(label=_("Of what"), required=False, error_messages={"invalid_choice": OFF_LIST})
    typed = EitherComma(
        label=_("The most"),
        max_digits=9,
        decimal_places=3,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            ("required", "invalid", "max_digits", "max_decimal_places", "max_whole_digits"), CAP_UNLIKE
        ),
    )

    class Meta:
        model = Cap
        fields = ["feedstock", "unit"]
        labels = {"unit": _("Counted in")}
        error_messages = {"unit": CHOOSE}

    field_order = ["feedstock", "typed", "unit"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "cap_%s"
        offer(self, "feedstock", _looser(), first=_("everything together"))
        offer(self, "unit", Cap.Unit.choices, first=_("choose one"))

    def clean_typed(self) -> int:
        most = int(self.cleaned_data["typed"] * Decimal(1000))
        if not 1 <= most <= MOST_CAP:
            raise ValidationError(CAP_UNLIKE)
        return most


class CallForm(forms.Form):
    """What a site asks everybody for, and until when."""

    words = words(_("What we need"), 200, _("We need 4 sacks of dry leaves."), help_text=NO_NAMES)
    until = forms.DateField(label=_("Until, that day too"), error_messages=DAY)

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "call_%s"
        self.today = today
        self.fields["until"].widget = _day_picker()

    def clean_until(self) -> date:
        return near(self.cleaned_data["until"], self.today)


def near(until: date, today: date) -> date:
    """A last day that is neither over nor more than a year away."""
    if until < today:
        raise ValidationError(_now("This day is over. Choose today or a later one."))
    if (until - today).days > 366:
        raise ValidationError(_now("That is more than a year. Choose a day within a year."))
    return until


def _day_picker() -> forms.DateInput:
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
