"""Forms about people. Every message says what to type, with an example."""

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from members.fields import secret, whole_number, words
from members.limits import signs_in_as
from members.models import Cooperative, Member
from members.words import HOW_MANY, meant, read, strangers

TAKEN = _("Somebody already signs in with this name. Choose another.")
FIRST_NAME = _("What the others say; a first name is enough.")
MONTHS = [
    (1, _("January")), (2, _("February")), (3, _("March")), (4, _("April")), (5, _("May")), (6, _("June")),
    (7, _("July")), (8, _("August")), (9, _("September")), (10, _("October")), (11, _("November")),
    (12, _("December")),
]  # fmt: skip


def sign_in_name() -> forms.CharField:
    """A field for the name typed at sign-in."""
    says = _("A sign-in name has only small letters, digits, dots and dashes, like rosa.m")
    field = words(
        _("Sign-in name"),
        40,
        "rosa.m",
        attrs={"autocapitalize": "none", "spellcheck": "false"},
        help_text=_("What is typed at sign-in: small letters, digits, dots and dashes."),
        validators=[RegexValidator(r"\A[a-z0-9]+([.-][a-z0-9]+)*\Z", says)],
    )
    field.error_messages["unique"] = TAKEN
    return field


class SignInForm(AuthenticationForm):
    """Sign-in name and password. One answer for every failure, so that nobody learns who has an account."""

    error_messages = {
        "invalid_login": _("This name and password do not go together. Check both and try again."),
        "inactive": _("This name and password do not go together. Check both and try again."),
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("Sign-in name")
        self.fields["username"].error_messages["required"] = _("Sign-in name is missing. Type it.")
        self.fields["username"].widget.attrs.update(autocapitalize="none", spellcheck="false")
        del self.fields["username"].widget.attrs["autofocus"]  # a keyboard would cover the one tap of a passkey
        self.fields["password"].error_messages["required"] = _("Password is missing. Type it.")

    def clean_username(self) -> str:
        """Sign-in names have small letters only, but a phone's keyboard likes to begin with a large one."""
        return signs_in_as(self.cleaned_data["username"])


class OwnPasswordForm(forms.Form):
    """A change of one's own password."""

    old = secret(_("Password until now"), new=False)
    new = secret(_("New password"))

    def __init__(self, person: Member, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        if not person.has_usable_password():  # whoever joined by an invitation has none yet
            del self.fields["old"]

    def clean_old(self) -> str:
        old: str = self.cleaned_data["old"]
        if not self.person.check_password(old):
            raise ValidationError(_("This is not your password until now. Type it again."))
        return old

    def clean_new(self) -> str:
        return _good_password(self.cleaned_data["new"], self.person)


class NewPasswordForm(forms.Form):
    """A new password given to somebody who has lost theirs."""

    new = secret(_("New password"))

    def clean_new(self) -> str:
        return _good_password(self.cleaned_data["new"])


class WordsForm(forms.Form):
    """Four words that somebody was given. What cannot be right is said at once and counts as no try."""

    words = words(
        _("Your four words"),
        200,
        _("apple tiger lamp river"),
        attrs={"autocapitalize": "none", "spellcheck": "false"},
        help_text=_("With spaces between them. Large or small letters make no difference."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"].error_messages["required"] = _("Type the four words that you were given.")
        self.fields["words"].error_messages["max_length"] = _("That is too long for four words. Type only these.")

    def clean_words(self) -> list[str]:
        found = read(self.cleaned_data["words"])
        if unknown := strangers(found)[:HOW_MANY]:
            raise ValidationError([_unknown_word(word) for word in unknown])
        if len(found) != HOW_MANY:
            raise ValidationError(_("There are four words. You typed %(number)s.") % {"number": len(found)})
        return found


class NewcomerForm(forms.Form):
    """What a newcomer wants to be called."""

    name = words(_("What shall we call you?"), 60, _("Rosa"), help_text=FIRST_NAME)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].error_messages["required"] = _("Your name is missing. Type it, like Rosa.")
        self.fields["name"].error_messages["max_length"] = _("Your name must be at most 60 characters long.")


class NewPhoneForm(forms.Form):
    """Whether a person's other phones are to be signed out."""

    ends_others = forms.BooleanField(label=_("The old phone is lost: sign it out, and every other one"), required=False)


class CooperativeForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """The cooperative's name, the month its year starts in, how large its bags are, how long names stay."""

    name = words(_("Name of the cooperative"), 80, _("Two Lanes Growers"))
    bag_litres = whole_number(_("Size of a bag of compost"), _("litres"), 40, 1, 2000)
    year_starts_in_month = forms.TypedChoiceField(
        label=_("The year of your accounts starts in"), choices=MONTHS, coerce=int
    )
    keep_names_months = whole_number(
        _("How long names stay on entries"),
        _("months"),
        24,
        3,
        120,
        help_text=_("24 is usual. After that, what was recorded stays, without who and without their words."),
    )

    class Meta:
        model = Cooperative
        fields = ["name", "bag_litres", "year_starts_in_month", "keep_names_months"]


class PersonForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """A person's name and roles. The last administrator stays one."""

    name = words(_("Name"), 60, _("Rosa"), help_text=FIRST_NAME)
    username = sign_in_name()

    class Meta:
        model = Member
        fields = ["name", "username", "is_coordinator", "is_treasurer", "is_administrator"]
        labels = {
            "is_coordinator": _("Coordinator of all sites: plans, corrects, looks after bays and containers"),
            "is_treasurer": _("Treasurer: reads and exports the year's figures"),
            "is_administrator": _("Administrator: sets up sites and people"),
        }
        error_messages = {"username": {"unique": _("Somebody already signs in with this name. Choose another.")}}

    @property
    def gives_a_role(self) -> bool:
        """Whether somebody may do more than before."""
        return any(name.startswith("is_") and self.cleaned_data[name] for name in self.changed_data)

    def clean_is_administrator(self) -> bool:
        stays: bool = self.cleaned_data["is_administrator"]
        if not stays and is_last_administrator(self.instance):
            raise ValidationError(_("This is the only administrator. Make somebody else an administrator first."))
        return stays


class AddPersonForm(PersonForm):
    """A person who comes new, with a first password to hand over."""

    password = secret(_("First password"))

    def clean_password(self) -> str:
        return _good_password(self.cleaned_data["password"])


class FirstStartForm(forms.Form):
    """The first start: the cooperative and its first administrator."""

    cooperative = words(_("Name of the cooperative"), 80, _("Two Lanes Growers"))
    name = words(_("Your name"), 60, _("Rosa"), help_text=FIRST_NAME)
    username = sign_in_name()
    password = secret(_("Password"))

    def clean_password(self) -> str:
        return _good_password(self.cleaned_data["password"])

    def clean_username(self) -> str:
        username: str = self.cleaned_data["username"]
        if Member.objects.filter(username=username).exists():
            raise ValidationError(TAKEN)
        return username


def is_last_administrator(person: Member) -> bool:
    """Whether nobody else could look after the register if `person` could not."""
    others = Member.objects.filter(is_administrator=True, is_active=True).exclude(pk=person.pk)
    return person.pk is not None and person.is_active and _was_administrator(person) and not others.exists()


def _unknown_word(word: str) -> str:
    """A word that is not on the list, and the one that was perhaps meant."""
    if known := meant(word):
        return _("%(word)s is not one of our words. Did you mean %(known)s?") % {"word": word[:20], "known": known}
    return _("%(word)s is not one of our words. Look at it again.") % {"word": word[:20]}


def _was_administrator(person: Member) -> bool:
    return Member.objects.filter(pk=person.pk, is_administrator=True).exists()


def _good_password(password: str, person: Member | None = None) -> str:
    password_validation.validate_password(password, person)
    return password
