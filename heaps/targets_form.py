"""What heaps are brought to, as a form: own figures within what is left alone."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from heaps.science.targets import IDEAL, LEFT_ALONE
from members.fields import whole_number, words

#: Nothing is asked about a heap within these, and a recipe must end what is asked.
LEAST_C_TO_N, MOST_C_TO_N = (int(one) for one in LEFT_ALONE.c_to_n)
LEAST_WET, MOST_WET = (round(one * 100) for one in LEFT_ALONE.moisture)
LEAST_AIR, MOST_AIR = round(LEFT_ALONE.least_air * 100), 60
PUBLISHED = {
    "c_to_n_least": int(IDEAL.c_to_n[0]),
    "c_to_n_most": int(IDEAL.c_to_n[1]),
    "moisture_least": round(IDEAL.moisture[0] * 100),
    "moisture_most": round(IDEAL.moisture[1] * 100),
    "air_least": round(IDEAL.least_air * 100),
}
#: Ranges closer than this leave a recipe no whole container (common practice).
NARROWEST_C_TO_N, NARROWEST_WET = 5, 5


class TargetsForm(forms.Form):
    """The five figures, and why."""

    c_to_n_least = whole_number(_("C:N from"), _("to 1"), 25, LEAST_C_TO_N, MOST_C_TO_N)
    c_to_n_most = whole_number(_("C:N to"), _("to 1"), 40, LEAST_C_TO_N, MOST_C_TO_N)
    moisture_least = whole_number(_("Moisture from"), _("per cent"), 50, LEAST_WET, MOST_WET)
    moisture_most = whole_number(_("Moisture to"), _("per cent"), 60, LEAST_WET, MOST_WET)
    air_least = whole_number(_("Air at least"), _("per cent"), 30, LEAST_AIR, MOST_AIR)
    reason = words(
        _("Why"), 160, _("our heaps dry out in summer"), required=False, help_text=_("Leave out names of people.")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "targets_%s"

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        for name, narrowest in (("c_to_n", NARROWEST_C_TO_N), ("moisture", NARROWEST_WET)):
            least, most = said.get(f"{name}_least"), said.get(f"{name}_most")
            if least is not None and most is not None and most - least < narrowest:
                says = _now("This must be at least %(number)s above the other, or no whole container fits.")
                self.add_error(f"{name}_most", ValidationError(says % {"number": narrowest}))
        return said
