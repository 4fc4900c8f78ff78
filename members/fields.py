"""Fields of forms whose messages say what to type, with an example."""

import re
import unicodedata
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from members.numerals import rounded_when_read

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise

    Text = str | _StrPromise


def whole_number(label: "Text", unit: "Text", like: int, least: int, most: int, **options: Any) -> forms.IntegerField:
    """A field for a whole number of `unit`. `like` is an example."""
    said = {
        "name": label,
        "unit": unit,
        "like": like,
        "least": rounded_when_read(least),
        "most": rounded_when_read(most),
    }
    unlike = format_lazy(_("{name} must be a whole number of {unit}, like {like}."), **said)
    outside = format_lazy(_("{name} must be from {least} to {most} {unit}."), **said)
    return forms.IntegerField(
        label=format_lazy("{name} ({unit})", **said),
        min_value=least,
        max_value=most,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages={"required": unlike, "invalid": unlike, "min_value": outside, "max_value": outside},
        **options,
    )


def offer(form: forms.BaseForm, name: str, choices: Iterable[tuple[Any, Any]], first: "Text | None" = None) -> None:
    """What a field of a form offers to choose from, after a `first` line that chooses nothing."""
    nothing = [] if first is None else [("", first)]
    form.fields[name].choices = [*nothing, *choices]  # type: ignore[attr-defined]  # a name does not tell the kind


class EitherComma(forms.DecimalField):
    """A number with a decimal point or comma, in every language. With three places a comma may part thousands, too:
    that is asked again."""

    def to_python(self, value: Any) -> Any:
        typed = value.strip() if isinstance(value, str) else value
        both = isinstance(typed, str) and re.fullmatch(r"-?\d+,(\d{1,2}|\d{4,})", typed)
        return super().to_python(typed.replace(",", ".") if both else value)


class CanBeSeen:
    """Passes one line that can be read. Ends of lines could forge a line of a log or a sheet, and signs that turn the
    line round would turn what stands after a name, too (Unicode 16, UAX 9). Joiners stay: emoji and scripts need them.
    """

    TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
    BLANKS = frozenset("\u115f\u1160\u2800\u3164\uffa0")  # letters by their class, but nothing is drawn

    def __init__(self, says: "Text") -> None:
        self.says = says

    def __call__(self, text: str) -> None:
        kinds = [unicodedata.category(one) for one in text if one != "\x00"]  # which Django refuses by itself
        drawn = any(
            kind[0] not in "CZ" and one not in self.BLANKS for one in text for kind in [unicodedata.category(one)]
        )
        if not drawn or self.TURNS & set(text) or {"Cc", "Zl", "Zp", "Cs", "Cn"} & set(kinds):
            raise ValidationError(self.says)


def words(label: "Text", longest: int, like: "Text", **options: Any) -> forms.CharField:
    """A field for a short name. `like` is an example."""
    attrs = {"autocomplete": "off", **options.pop("attrs", {})}
    said = {"name": label, "like": like, "most": longest}
    unseen = format_lazy(_("{name} has signs in it that cannot be seen. Type it by hand, like {like}."), **said)
    return forms.CharField(
        label=label,
        max_length=longest,
        widget=forms.TextInput(attrs=attrs),
        validators=[CanBeSeen(unseen), *options.pop("validators", [])],
        error_messages={
            "required": format_lazy(_("{name} is missing. Type it, like {like}."), **said),
            "max_length": format_lazy(_("{name} must be at most {most} characters long."), **said),
            "null_characters_not_allowed": unseen,
        },
        **options,
    )


def secret(label: "Text", new: bool = True, **options: Any) -> forms.CharField:
    """A field for a password."""
    kept = "new-password" if new else "current-password"
    return forms.CharField(
        label=label,
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": kept}),
        error_messages={"required": format_lazy(_("{name} is missing. Type it."), name=label)},
        help_text=_("At least 8 characters; three or four words are good.") if new else "",
        **options,
    )
