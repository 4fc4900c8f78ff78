"""Forms about the ground: sites, bays, containers, and what already lies in a bay."""

import zoneinfo
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.text import format_lazy
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from heaps.ledger.kinds import Opening
from heaps.models import Bay, BeanTest, Container, Donor, Site, known_materials
from members.fields import offer, whole_number, words
from members.models import Member

DAYS = {"weeks": 7, "months": 30}
LINES = [_("Most of it is"), _("Then there is"), _("And also"), _("And a little"), _("And a trace of")]
OPEN_AGAIN = _("Something of this page was lost on the way. Please open this page again.")
CHOOSE = _("Person is missing. Choose one from the list.")
OFF_LIST = {"invalid_choice": _("Choose one from the list.")}
MOST_ML: int = Opening.__dataclass_fields__["volume_ml"].metadata["most"]


class SiteForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """A site's name and the clock it lives by."""

    name = words(_("Name of the site"), 60, _("Lane Side"))
    time_zone = forms.ChoiceField(label=_("Time zone"), initial="Europe/London")

    class Meta:
        model = Site
        fields = ["name", "time_zone"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].error_messages["unique"] = _("There is already a site with this name. Choose another.")
        zones = sorted(name for name in zoneinfo.available_timezones() if "/" in name or name == "UTC")
        field = self.fields["time_zone"]
        if isinstance(field, forms.ChoiceField):
            field.choices = [(name, name.replace("_", " ")) for name in zones]


class OneNameASite(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """A thing whose name stands once at its site."""

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        others = type(self.instance).objects.filter(site=self.instance.site, name=name)
        if others.exclude(pk=self.instance.pk).exists():
            raise ValidationError(_now("There is already one with this name at this site. Choose another."))
        return name


class BayForm(OneNameASite):
    """A bay: its name, its place in the row, its kind and its inside measures."""

    name = words(_("Name of the bay"), 40, _("Bay 1"))
    position = whole_number(
        _("Place in the row"),
        _("bays from the gate"),
        2,
        1,
        500,
        help_text=_("1 is the first bay seen from the gate."),
    )
    length_cm = whole_number(_("Length"), _("centimetres"), 150, 20, 2000, help_text=_("Measured inside."))
    width_cm = whole_number(_("Width"), _("centimetres"), 120, 20, 2000)
    height_cm = whole_number(_("Height"), _("centimetres"), 120, 20, 300)

    class Meta:
        model = Bay
        fields = ["name", "position", "kind", "length_cm", "width_cm", "height_cm"]
        labels = {"kind": _("Kind")}


class ContainerForm(OneNameASite):
    """A container and how full it usually comes."""

    name = words(_("Name of the container"), 40, _("green bucket"))
    litres = whole_number(_("It holds"), _("litres"), 15, 1, 5000, help_text=_("Filled level to the rim."))
    fill_per_cent = whole_number(
        _("Usually filled"), _("per cent"), 80, 10, 150, help_text=_("100 is level; a heaped barrow is more.")
    )

    class Meta:
        model = Container
        fields = ["name", "litres", "fill_per_cent"]


class StewardForm(forms.Form):
    """Somebody who is to coordinate one site. Whoever coordinates all of them is not offered."""

    person = forms.ChoiceField(label=_("Person"), error_messages={"required": CHOOSE, **OFF_LIST})

    def __init__(self, site: Site, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        free = Member.objects.filter(is_active=True, is_coordinator=False, is_administrator=False)
        self.free = {str(one.uid): one for one in free.exclude(stewardships__site=site)}
        field = self.fields["person"]
        if isinstance(field, forms.ChoiceField):
            field.choices = [("", _("choose one")), *((uid, one.name) for uid, one in self.free.items())]

    def clean_person(self) -> Member:
        return self.free[self.cleaned_data["person"]]


class DonorForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """Who gives: a kind, and the organisation's name; whom to ask there, for coordinators only."""

    organisation = words(
        _("Name of the business or group"),
        60,
        _("Hobb Stables"),
        required=False,
        help_text=_("A business or group; never a private person's name. Everybody can read it on their phone."),
    )
    site = forms.ModelChoiceField(
        Site.objects.all(),
        label=_("Gives to"),
        empty_label=_("every site"),
        error_messages={"required": _("Site is missing. Choose one from the list."), **OFF_LIST},
    )
    contact = words(
        _("Whom to ask there"),
        200,
        _("Kit, at the yard gate on Fridays"),
        required=False,
        help_text=_("Only coordinators see this. Leave it empty if you need not know."),
    )
    gives = forms.BooleanField(label=_("Still gives: offer it on phones"), required=False)

    class Meta:
        model = Donor
        fields = ["kind", "organisation", "site", "contact", "gives"]
        labels = {"kind": _("Kind")}
        error_messages = {"kind": {"required": _("Kind is missing. Choose one from the list."), **OFF_LIST}}

    def __init__(self, sites: QuerySet[Site], everywhere: bool, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self, "kind", Donor.Kind.choices, first=_("choose one"))
        field = self.fields["site"]
        if isinstance(field, forms.ModelChoiceField):
            field.queryset, field.required = sites, not everywhere
            field.empty_label = _("every site") if everywhere else _("choose one")

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or self.cleaned_data
        name, households = said.get("organisation", ""), said.get("kind") == Donor.Kind.HOUSEHOLDS
        if households and name:
            self.add_error("organisation", _now("Households stand together, without a name. Leave this empty."))
        if households and said.get("contact"):
            self.add_error("contact", _now("Households stand together, without a contact. Leave this empty."))
        if not households and not name and "organisation" not in self.errors:
            self.add_error("organisation", _now("The name is missing. Type it, like Hobb Stables."))
        same = Donor.objects.filter(kind=said.get("kind"), organisation=name, site=said.get("site"))
        if not self.errors and same.exclude(pk=self.instance.pk).exists():
            self.add_error(None, _now("This one stands in the list already. Change it there."))
        return said


class BeanTestForm(forms.ModelForm):  # type: ignore[type-arg]  # generic to the checker alone
    """When beans were sown in a mix with a load, when they were looked at, and how they grew."""

    words = words(_("A few words"), 200, _("leaves like spoons in two pots"), required=False)

    class Meta:
        model = BeanTest
        fields = ["sown_on", "read_on", "result", "words"]
        labels = {"sown_on": _("Sown on"), "read_on": _("Looked at on"), "result": _("How they grew")}
        widgets = {name: forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}) for name in ("sown_on", "read_on")}

    def __init__(self, today: date, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        for name in ("sown_on", "read_on"):
            unreadable = _("This day cannot be read. Type it like 2026-05-03.")
            missing = _("The day is missing. Type it like 2026-05-03.")
            self.fields[name].error_messages.update(invalid=unreadable, required=missing)
        self.fields["read_on"].required = self.fields["result"].required = False
        self.fields["result"].error_messages.update(OFF_LIST)
        offer(self, "result", BeanTest.Result.choices, first=_("they still grow"))

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or self.cleaned_data
        sown_on, read_on = said.get("sown_on"), said.get("read_on")
        for name, day in (("sown_on", sown_on), ("read_on", read_on)):
            if day and day > self.today:
                self.add_error(name, _now("This day has not come yet. Check it."))
        if sown_on and read_on and read_on < sown_on:
            self.add_error("read_on", _now("This is before they were sown. Check both days."))
        if read_on and not said.get("result") and "result" not in self.errors:
            self.add_error("result", _now("Say how they grew, or leave the day empty while they grow."))
        if said.get("result") and not read_on and "read_on" not in self.errors:
            self.add_error("read_on", _now("Say on which day you looked at them."))
        return said


class OpeningForm(forms.Form):
    """What already lies in a bay on its first day here: how much, how old, of what, all roughly."""

    uid = forms.UUIDField(widget=forms.HiddenInput, error_messages={"required": OPEN_AGAIN, "invalid": OPEN_AGAIN})
    fill_per_cent = whole_number(_("Filled to"), _("per cent"), 60, 1, 150, help_text=_("100 is level with the top."))
    age = whole_number(_("Roughly how old"), _("weeks or months"), 6, 0, 500)
    age_in = forms.ChoiceField(label=_("Weeks or months"), choices=[("weeks", _("weeks")), ("months", _("months"))])

    def __init__(self, bay: Bay, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.bay = bay
        known = [(one.key, _now(one.short)) for one in known_materials().offered() if one.acceptance != "never"]
        known.sort(key=lambda one: one[1].lower())
        for line, label in enumerate(LINES):
            choices = [("", _("nothing more") if line else _("choose one")), *known]
            self.fields[f"material_{line}"] = forms.ChoiceField(
                label=label, choices=choices, required=False, error_messages=OFF_LIST
            )
            share = format_lazy("{} {}", _("Share"), line + 1)
            self.fields[f"share_{line}"] = whole_number(share, _("per cent"), 50, 1, 100, required=False)

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or self.cleaned_data
        make_up: dict[str, int] = {}
        for line in range(len(LINES)):
            self._add_line(make_up, said.get(f"material_{line}"), said.get(f"share_{line}"), line)
        if not self.errors and sum(make_up.values()) != 100:
            self.add_error("share_0", _now("The shares must add up to 100 per cent."))
        if "fill_per_cent" in said and self.volume_ml > MOST_ML:
            self.add_error("fill_per_cent", _now("That is more than 50,000 litres. Check the measures."))
        if "age" in said and "age_in" in said and self.age_days > 3650:
            self.add_error("age", _now("That is more than ten years. Type what it is, roughly."))
        return {**said, "make_up": make_up}

    def _add_line(self, make_up: dict[str, int], material: str | None, share: int | None, line: int) -> None:
        if material and share is None and f"share_{line}" not in self.errors:
            self.add_error(f"share_{line}", _now("Share is missing. Type how many per cent, like 50."))
        elif share is not None and not material:
            self.add_error(f"material_{line}", _now("Material is missing. Choose what it is."))
        elif material in make_up:
            self.add_error(f"material_{line}", _now("This material stands above already. Add it there."))
        elif material and share is not None:
            make_up[material] = share

    @property
    def volume_ml(self) -> int:
        """How much lies in the bay."""
        fill: int = self.cleaned_data["fill_per_cent"]
        return self.bay.volume_ml * fill // 100

    @property
    def age_days(self) -> int:
        """How old it is, roughly."""
        age: int = self.cleaned_data["age"]
        return age * DAYS[self.cleaned_data["age_in"]]

    def details(self) -> dict[str, Any]:
        """The details of an `opening` entry, as on the wire."""
        make_up = [[key, share] for key, share in self.cleaned_data["make_up"].items()]
        return {"volume_ml": self.volume_ml, "age_days": self.age_days, "make_up": make_up}
