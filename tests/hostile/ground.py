"""A database in which every field for free text can be filled with hostile strings, whatever models there are."""

import json
import uuid
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.apps import apps
from django.db import models
from django.utils import timezone

from heaps.models import Bay, Container, Entry, OwnValue, Parked, Site
from heaps.sync import Sending, accept
from members.models import Member
from tests.sendings import correction, load

OURS = ("heaps", "members", "cooperative")
DAY = datetime(2026, 5, 1, 10, tzinfo=UTC)
OWN_ONES = 4
WEIGHED = {"feedstock": "coffee", "container_ml": 10_000, "full_g": 5_000, "empty_g": 800}
#: Fields that hold no free text: what no form and no phone can put there, and what is put there by other means.
NOT_FREE = {
    "members.Member.password": "a scrambled password",
    "members.Session.session_key": "a number by chance",
    "members.Session.session_data": "signed by us",
    "members.Ticket.first_word": "a word of our own list",
    "members.Ticket.other_words": "a digest",
    "members.Ticket.link": "a digest",
    "members.Tries.of": "a digest",
    "members.Erased.of": "a digest",
    "members.Passkey.credential_id": "checked to be base64url",
    "heaps.Site.time_zone": "one of the world's, else its days cannot be told",
    "heaps.Entry.kind": "one of our own words",
    "heaps.Entry.details": "checked by wire.py; its one free field is filled through the door",
    "heaps.Entry.fingerprint": "a digest",
    "heaps.Entry.chain": "a digest",
    "heaps.Ledger.chain": "a digest",
    "heaps.Parked.raw": "JSON; what is free in it is filled in `spoil_parked`",
    "heaps.StoredBay.state": "made by replay",
    "heaps.Checkpoint.state": "made by replay",
    "heaps.Checkpoint.uid": "made by replay",
    "heaps.DayTotal.what": "one of our own headings",
    "heaps.ImportRun.digest": "a digest",
    "heaps.ImportRun.columns": "our own words; the names of a file's columns stand in the file",
    "heaps.OwnValue.feedstock": "a key of the table or made by chance",
    "heaps.OwnValue.chosen": "one of our own words, or a key of the table",
    "heaps.OwnValue.moved": "made by us",
    "heaps.OwnClimate.months": "numbers that a form has read",
    "heaps.SiteStore.counted": "made by replay",
    "heaps.KeptAdvice.key": "a digest",
    "heaps.KeptAdvice.recipe": "made by us",
    "heaps.KeptForecast.batch": "a number",
    "heaps.KeptForecast.says": "made by us",
    "heaps.KeptLesson.uid": "a number",
    "heaps.KeptLesson.key": "a digest",
    "heaps.KeptLesson.says": "made by us",
}
#: Whoever signs in keeps the sign-in name that the tests type.
CAST = ("ada", "bela", "cleo", "dov", "edda", "finn")


def free_fields() -> Iterator[tuple[type[models.Model], list[str]]]:
    """Every model of ours with its fields for free text."""
    for model in apps.get_models():
        if model._meta.app_label in OURS:
            names = [one.name for one in model._meta.concrete_fields if _is_free(model, one)]
            if names:
                yield model, names


def _is_free(model: type[models.Model], field: Any) -> bool:
    text = isinstance(field, models.CharField | models.TextField | models.JSONField)
    return text and not field.choices and f"{model._meta.label}.{field.name}" not in NOT_FREE


def lay(rows: int) -> None:
    """Harmless rows, at least so many of each model, beside the one site and the people that are there."""
    for number in range(rows):
        site = Site.objects.create(name=f"site {number}")
        Container.objects.create(site=site, name=f"container {number}", litres=12)
        for place in (1, 2):
            Bay.objects.create(
                site=site, name=f"bay {place}", position=place, length_cm=100, width_cm=100, height_cm=100
            )
        Member.objects.create_member(f"person-{number}", f"person {number}")
    for number in range(max(rows, OWN_ONES)):
        _decide(number)
    for number, site in enumerate(Site.objects.order_by("pk")):
        site.climates.create(months=[[95, 500]] * 12, source=f"source {number}", decided_at=DAY)
        _record(site, number)
    for model, _names in free_fields():
        for number in range(model._default_manager.count(), 1 if model.__name__ == "Cooperative" else rows):
            model._default_manager.create(**dict(_values(model, number)))


def _decide(number: int) -> None:
    """A material of one's own, with a name and a figure; and the same of a published one."""
    key = f"own-{number:012x}"
    OwnValue.objects.create(feedstock=key, figure="relative", chosen="coffee", decided_at=DAY)
    for feedstock in (key, "cardboard"):
        both = {"feedstock": feedstock, "reason": f"reason {number}", "decided_at": DAY}
        OwnValue.objects.create(figure="name", words=f"material {number}", **both)
        OwnValue.objects.create(figure="density", number=400, **both)
        OwnValue.objects.create(figure="gate", chosen="treat first", since=DAY, **both)


def _record(site: Site, number: int) -> None:
    """Loads, a look, a turn and bags at a site; two entries to place, one of them of a material that is gone."""
    people = list(Member.objects.filter(is_active=True).order_by("pk"))
    bays = list(site.bays.order_by("position"))
    first, second = bays[0], bays[-1]
    looks = {"temp_tenths_c": 551, "place": "core", "probe": "a probe", "squeeze": "holds", "signs": ["ants"]}
    share = [{"bay": str(first.uid), "per_cent": 50}]
    raws = [
        load(first, words="words", details=_coffee(4)),
        load(first, minutes=1, words="more words", details=_coffee(3)),
        load(first, minutes=2, kind="reading", words="words", details=looks),
        load(second, minutes=3, kind="turn", words="words", details={"sources": share}),
        load(
            second,
            minutes=4,
            kind="harvest",
            details={"half_bags": 3, "bag_ml": 40_000, "per_cent": 25, "sieved": "coarse"},
        ),
        load(first, minutes=5, kind="note", words="words", details={}),
        load(first, minutes=5, details=_coffee(2) | {"feedstock": f"own-{number % OWN_ONES:012x}"}),
        load(first, minutes=5, kind="weighing", bay=None, details=WEIGHED),
        load(first, minutes=6, bay=str(uuid.uuid4()), words="words"),
        load(first, minutes=7, site=str(uuid.uuid4()), words="words"),
        correction(site, str(uuid.uuid4())) | {"words": "words"},
    ]
    person = people[number % len(people)]
    sent = Sending(person, uuid.uuid4(), sent_at=DAY + timedelta(days=1), received_at=DAY + timedelta(days=1))
    receipts = accept(raws, sent)
    assert {one.state for one in receipts} == {"accepted", "parked"}, receipts


def _coffee(count: int) -> dict[str, Any]:
    return {"feedstock": "coffee", "half_containers": count, "container_ml": 10_000}


def _values(model: type[models.Model], number: int) -> Iterator[tuple[str, Any]]:
    """A value for each field of a model that does not get one by itself."""
    for field in model._meta.concrete_fields:
        if field.primary_key or field.has_default():
            continue
        if isinstance(field, models.ForeignKey):
            yield field.name, _one_of(field.remote_field.model, number)
        elif field.choices:
            yield field.name, list(field.choices)[number % len(list(field.choices))][0]
        elif not field.null or type(field) is models.DateField:  # a moment that may be missing says that it is over
            yield field.name, _value(field, number)


def _one_of(model: Any, number: int) -> Any:
    """Rows in turn, whose number or name does not matter; of people, those who sign in."""
    rows = model._default_manager.order_by("pk")
    if model is Member:
        rows = rows.filter(username__in=CAST, is_active=True)
    return rows[number % rows.count()]


def _value(field: Any, number: int) -> Any:
    if isinstance(field, models.DateTimeField):
        return timezone.now()
    if isinstance(field, models.DateField):
        return date(2026, 5, 1)
    if isinstance(field, models.UUIDField):
        return uuid.uuid4()
    if isinstance(field, models.BinaryField):
        return b"key"
    if isinstance(field, models.JSONField):
        return {}
    return f"{field.name} {number}" if isinstance(field, models.CharField | models.TextField) else 1


def spoil(texts: Sequence[str], start: int = 0) -> None:
    """Put the texts into every free field of every row, one after the other, beginning somewhere else each time."""
    for place, (model, names) in enumerate(free_fields()):
        rows = list(model._default_manager.order_by("pk"))
        first = start + place
        for put in (_apart, _in_turn):  # what may stand only once may still stand in a later row
            for number, row in enumerate(rows, first):
                for offset, name in enumerate(names):
                    if not (name == "username" and getattr(row, name) in CAST):
                        setattr(row, name, put(texts, number + offset, name, round=(number - first) // len(texts)))
            model._default_manager.bulk_update(rows, names, batch_size=200)
    spoil_parked(texts, start)


def _apart(texts: Sequence[str], number: int, name: str, round: int) -> str:
    return f"{name} {number}"


def _in_turn(texts: Sequence[str], number: int, name: str, round: int) -> str:
    text = texts[number % len(texts)]
    return f"{text} {round}" if round and name in ("name", "username") else text


def spoil_parked(texts: Sequence[str], start: int) -> None:
    """What a phone wrote in an entry that is still to be placed: its words, and every second time its material."""
    rows = list(Parked.objects.order_by("pk"))
    for number, row in enumerate(rows, start):
        raw = json.loads(row.raw)
        raw["words"] = texts[number % len(texts)][:1000]
        if number % 2 and "feedstock" in raw["details"]:
            raw["details"]["feedstock"] = texts[number % len(texts)]
        row.raw = json.dumps(raw)
    Parked.objects.bulk_update(rows, ["raw"], batch_size=200)


def untold() -> list[str]:
    """Models of ours with free text of which there is no row: what a page would show of them is not tried."""
    return [model._meta.label for model, _names in free_fields() if not model._default_manager.exists()]


def entries() -> int:
    """How much is in the ledger."""
    return Entry.objects.count()
