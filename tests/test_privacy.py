"""Every field that can hold something of a person is on the list, with what it is for, how long, and how it goes."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import models
from django.test.utils import isolate_apps

from members.models import Member

INVENTORY: dict[str, Any] = tomllib.loads((Path(__file__).parent / "privacy_inventory.toml").read_text())
#: Fields that can hold a name, words, a number that stands for somebody, an address or a picture.
TELLING = (
    models.CharField,
    models.TextField,
    models.JSONField,
    models.UUIDField,
    models.BinaryField,
    models.GenericIPAddressField,
    models.FileField,
)


def fields_of(tables: list[type[models.Model]]) -> Iterator[tuple[str, "models.Field[Any, Any]"]]:
    """Every column of the tables under its full name."""
    for model in tables:
        for field in model._meta.local_fields:
            yield f"{model._meta.label}.{field.name}", field


def to_list(tables: list[type[models.Model]]) -> set[str]:
    """The fields that must be on the list."""
    return {name for name, field in fields_of(tables) if isinstance(field, TELLING) or field.related_model is Member}


def all_tables() -> list[type[models.Model]]:
    return list(apps.get_models(include_auto_created=True))


def test_every_field_that_can_tell_of_a_person_is_listed() -> None:
    listed = INVENTORY["personal"].keys() | INVENTORY["other"].keys()
    assert to_list(all_tables()) - listed == set()


def test_nothing_is_listed_twice_or_no_longer_there() -> None:
    assert INVENTORY["personal"].keys() & INVENTORY["other"].keys() == set()
    there = {name for name, _field in fields_of(all_tables())}
    assert (INVENTORY["personal"].keys() | INVENTORY["other"].keys()) - there == set()


def test_whatever_points_at_a_person_is_personal() -> None:
    pointing = {name for name, field in fields_of(all_tables()) if field.related_model is Member}
    assert pointing and pointing <= INVENTORY["personal"].keys()
    about_people = {name for name, field in fields_of([Member]) if not field.primary_key}
    assert about_people <= INVENTORY["personal"].keys()


@pytest.mark.parametrize("name", INVENTORY["personal"])
def test_each_personal_field_says_what_for_how_long_and_how_it_goes(name: str) -> None:
    said = INVENTORY["personal"][name]
    assert said.keys() == {"purpose", "kept", "erased"}
    assert all(len(text) > 8 for text in said.values())


def test_each_other_field_says_why() -> None:
    assert all(len(why) > 8 for why in INVENTORY["other"].values())


@isolate_apps("heaps")
def test_a_new_field_would_be_noticed() -> None:
    class Donor(models.Model):
        nick = models.CharField(max_length=9)
        of = models.ForeignKey(Member, models.CASCADE, related_name="+")
        litres = models.IntegerField()

        class Meta:
            app_label = "heaps"

        def __str__(self) -> str:
            return self.nick

    assert to_list([Donor]) == {"heaps.Donor.nick", "heaps.Donor.of"}
