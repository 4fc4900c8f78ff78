"""The usual year at a site, as two forms: month by month, or a table in a file."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.dates import MONTHS as NAMES
from django.utils.text import format_lazy
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from heaps.science.climate import (
    COLDEST_C,
    MONTHS,
    MOST_RAIN_MM,
    WARMEST_C,
    Fault,
    Faulty,
    Month,
    Why,
    months_from_csv,
)
from members.fields import EitherComma, words
from members.numerals import significant_when_read

#: A table of twelve lines is far smaller; so much is read at all.
MOST_BYTES, MOST_FAULTS = 20_000, 14
SAYS = {
    Why.HEAD: _("The first line must be: month,air_c,rain_mm."),
    Why.CELLS: _("Line %(line)s: there must be three cells: the month, the air and the rain."),
    Why.MONTH: _("Line %(line)s: the month must be a number from 1 to 12."),
    Why.TWICE: _("Line %(line)s: %(month)s stands there twice. Take one out."),
    Why.AIR: _("Line %(line)s: the air must be a number from -40 to 45 °C."),
    Why.RAIN: _("Line %(line)s: the rain must be a number from 0 to 2000 mm."),
    Why.MISSING: _("%(month)s is missing. Add a line for it."),
}


def _source() -> forms.CharField:
    return words(
        _("Where the figures are from"),
        120,
        _("the station on the hill, 2001 to 2020"),
        help_text=_("Leave out names of people."),
    )


def _number(label: Any, like: str, least: float, most: float) -> EitherComma:
    """One figure of one month. What is wrong with it names the month, because it also stands above the form."""

    def said(text: Any) -> Any:
        return format_lazy(
            text, name=label, like=like, least=significant_when_read(least), most=significant_when_read(most)
        )

    unlike, outside = (
        said(_("{name} must be a number, like {like}.")),
        said(_("{name} must be from {least} to {most}.")),
    )
    fine = said(_("{name}: one place behind the point is enough, like {like}."))
    return EitherComma(
        label=label,
        min_value=least,
        max_value=most,
        decimal_places=1,
        widget=forms.TextInput(attrs={"inputmode": "text" if least < 0 else "decimal", "autocomplete": "off"}),
        error_messages={
            **dict.fromkeys(("required", "invalid", "max_digits", "max_whole_digits"), unlike),
            **dict.fromkeys(("min_value", "max_value"), outside),
            "max_decimal_places": fine,
        },
    )


class MonthsForm(forms.Form):
    """Twelve months of two figures each."""

    def __init__(self, *args: Any, now: Sequence[Month], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "months_%s"
        for month, (air_c, rain_mm) in enumerate(now, 1):
            name = NAMES[month]
            self.fields[f"air_{month}"] = _number(
                format_lazy(_("{month}: air in °C"), month=name), "4.9", COLDEST_C, WARMEST_C
            )
            self.fields[f"rain_{month}"] = _number(
                format_lazy(_("{month}: rain in mm"), month=name), "47", 0, MOST_RAIN_MM
            )
            self.fields[f"air_{month}"].initial = f"{air_c:g}"
            self.fields[f"rain_{month}"].initial = f"{rain_mm:g}"
        self.fields["source"] = _source()

    def by_month(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """The fields as they stand on the page."""
        return [(self[f"air_{month}"], self[f"rain_{month}"]) for month in range(1, MONTHS + 1)]

    def months(self) -> list[Month]:
        """What was typed."""
        said = self.cleaned_data
        return [(float(said[f"air_{month}"]), float(said[f"rain_{month}"])) for month in range(1, MONTHS + 1)]


class TableForm(forms.Form):
    """The same as a file of one's own."""

    file = forms.FileField(
        label=_("The file"),
        help_text=_("CSV, as a spreadsheet program saves it."),
        allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.tsv,.txt,text/csv,text/plain"}),
        error_messages=dict.fromkeys(("required", "invalid", "missing"), _("Choose a file. It may hold 20 kB.")),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "table_%s"
        self.fields["source"] = _source()

    def clean_file(self) -> list[Month]:
        try:
            return list(months_from_csv(_text(self.cleaned_data["file"])))
        except Faulty as faulty:
            again = [ValidationError(_now("Mend the file, then choose it once more."))]
            raise ValidationError([*_said(faulty.faults), *again]) from None

    def months(self) -> list[Month]:
        """What the file holds."""
        months: list[Month] = self.cleaned_data["file"]
        return months


def _text(file: "UploadedFile[Any]") -> str:
    """What stands in a file; the old Windows letters, where it is not UTF-8."""
    if (file.size or 0) > MOST_BYTES:
        raise ValidationError(_now("This file is too large for twelve months. Choose another."))
    found: bytes = file.read()
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError:
        return found.decode("cp1252", errors="replace")


def _said(faults: Sequence[Fault]) -> list[ValidationError]:
    said = [SAYS[one.why] % {"line": one.line, "month": NAMES.get(one.month, "")} for one in faults[:MOST_FAULTS]]
    return [ValidationError(one) for one in said]
