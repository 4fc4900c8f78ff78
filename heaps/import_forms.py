"""Forms for a file that is brought in: which file, and what its columns are taken for."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.text import Truncator
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from heaps.importing import notebook
from heaps.importing.tables import LOOKED_THROUGH, Table
from heaps.models import Bay, ImportRun, Site
from heaps.wire import Refusal
from heaps.wording import refused

LEAVE_OUT = "leave out"
EXAMPLES, LONGEST_CELL = 3, 24  # of each column, in letters
OFF_LIST = {"invalid_choice": _("Choose one from the list.")}
#: What a notebook's columns hold, in words.
COLUMNS = {
    "what": _("what it was: drop-off, reading or harvest"),
    "date": _("the day"),
    "time": _("the time of day"),
    "site": _("the site"),
    "bay": _("the bay"),
    "person": _("who: the name they sign in with"),
    "words": _("free words"),
    "material": _("what was brought"),
    "container": _("the container"),
    "count": _("how many containers"),
    "litres": _("litres"),
    "kg": _("weight in kg"),
    "temperature_c": _("temperature in °C"),
    "place": _("where in the heap"),
    "depth_cm": _("depth in cm"),
    "squeeze": _("squeeze test"),
    "fill_percent": _("how full, in per cent"),
    "bags": _("bags that came out"),
    "bag_litres": _("litres in a bag"),
    "share_percent": _("share of the heap taken, in per cent"),
    "sieved": _("sieved: yes or no"),
}


class BayAtSite(forms.ModelChoiceField):  # type: ignore[type-arg]  # generic to the checker alone
    """A bay, named with its site."""

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.site}, {obj}"


class ImportForm(forms.Form):
    """Which file, and what its lines do not say themselves."""

    of = forms.ChoiceField(
        label=_("What the file is"),
        choices=ImportRun.Of.choices,
        initial=ImportRun.Of.NOTEBOOK,
        error_messages={**OFF_LIST, "required": _("Say what the file is.")},
    )
    site = forms.ModelChoiceField(
        Site.objects.all(),
        label=_("Site, for lines that name none"),
        required=False,
        empty_label=_("each line names its site"),
        error_messages=OFF_LIST,
    )
    bay = BayAtSite(
        Bay.objects.select_related("site"),
        label=_("Bay, for a logger: where its probes are"),
        required=False,
        empty_label=_("it is a notebook"),
        error_messages=OFF_LIST,
    )
    file = forms.FileField(
        label=_("The file"),
        help_text=_("CSV, as a spreadsheet program saves it. Up to 20 MB."),
        allow_empty_file=True,
        max_length=None,
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.tsv,.txt,text/csv,text/plain"}),
        error_messages={"required": _("Choose a file."), "missing": _("Choose a file.")},
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("of") == ImportRun.Of.LOGGER and not cleaned.get("bay") and "bay" not in self.errors:
            self.add_error("bay", _("Say in which bay the probes are."))
        return cleaned

    def refuse(self, wrong: Refusal) -> None:
        """Say what is wrong with the file. A browser lets nobody fill a file in again."""
        self.add_error("file", f"{refused(wrong)} {_now('Then choose the file once more.')}")


class ColumnsForm(forms.Form):
    """What each column of a notebook is taken for."""

    def __init__(self, table: Table, columns: Sequence[str | None], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = [("", _("choose")), (LEAVE_OUT, _("leave it out")), *COLUMNS.items()]
        examples = table.examples(EXAMPLES)
        for number, (name, meant, cells) in enumerate(zip(table.head, columns, examples, strict=False)):
            self.fields[f"column-{number}"] = forms.ChoiceField(
                label=name[:60] or _now("column %s, without a name") % (number + 1),
                choices=offered,
                initial=LEAVE_OUT if meant == "" else meant,
                help_text=_there(cells, table.length),
                error_messages={**OFF_LIST, "required": _now("Say what %s is, or leave it out.") % name[:60]},
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and (wrong := notebook.wrong_with(self.columns())):
            self.add_error(None, refused(wrong))
        return cleaned

    def columns(self) -> list[str]:
        """What was chosen, in the order of the file."""
        chosen = (self.cleaned_data[name] for name in self.fields)
        return ["" if one == LEAVE_OUT else one for one in chosen]


def _there(cells: Sequence[str], lines: int) -> str:
    if cells:
        shown = "; ".join(Truncator(one).chars(LONGEST_CELL) for one in cells)
        return _now("In it stands: %(cells)s") % {"cells": shown}
    if lines <= LOOKED_THROUGH:
        return _now("Nothing stands in it.")
    return _now("Nothing stands in it in the first %(lines)s lines.") % {"lines": LOOKED_THROUGH}
