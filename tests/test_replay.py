"""What one person sends does nothing with another's session, and no form takes more than its own fields."""

import io
import json
import tomllib
import uuid
from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from heaps.importing import runs
from heaps.models import Bay, BeanTest, Donor, Entry, HotHeap, ImportRun, OwnValue, Site
from members.models import Member, Ticket
from members.tickets import AT_THE_GATE, invite
from tests.recorder import Recorder, Sent
from tests.rows import BOOKKEEPING, but_for_chance, digest_of_rows, every_row
from tests.smuggling import every_field

PAGES = tomllib.loads((Path(__file__).parent / "access.toml").read_text())["page"]
A_BUCKET: dict[str, Any] = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
BAY = {"name": "Bay 9", "position": "4", "kind": "open", "length_cm": "150", "width_cm": "120", "height_cm": "120"}
OPENING = {"fill_per_cent": "60", "age": "2", "age_in": "months", "material_0": "cardboard", "share_0": "100"}
OWN_MATERIAL = "own-0123456789ab"
#: Addresses that take something from whoever asks, for nobody else; and why they are not asked here.
NOT_ASKED = {
    "members:sign_in": "it makes a session, nothing else",
    "members:sign_out": "it ends the session of whoever asks",
    "members:first_start": "it opens to nobody once there is an administrator",
    "heaps:sync": "letters are asked about in tests/test_letters.py",
    "heaps:carried": "whose a letter is, its seal says: tests/heaps/views/test_carried.py",
    "leave": "it always means whoever asks, and has no object that another could name",
    "members:own_password": "asked about below: it always means whoever asks",
    "members:devices": "asked about below: it shows only the devices of whoever asks",
    "members:passkeys": "asked about below: it shows only the keys of whoever asks",
    "members:passkey_question": "it changes nothing but the session of whoever asks",
    "members:new_passkey_question": "it changes nothing but the session of whoever asks",
    "members:confirm_question": "it changes nothing but the session of whoever asks",
    "members:confirm": "it changes nothing but the session of whoever asks",
    "members:another_phone": "it always means whoever asks",
    "members:join": "it is for whoever has the link, and for nobody who is signed in",
    "members:come_in": "it is for whoever has the link, and for nobody who is signed in",
    "members:by_words": "it is for whoever has the words, and for nobody who is signed in",
}
#: What whoever coordinates any site may do for all people.
FOR_ALL_SITES = ("members:invite", "members:new_phone")


@pytest.fixture
def waiting(keep, bay: Bay, member: Member, other_member: Member, administrator: Member, at) -> dict[str, str]:
    """A load that two people recorded, one to place, an open invitation, and somebody to help."""
    for who in (member, other_member):
        twice = keep("dropoff", bay, at(5, 1), by=who, **A_BUCKET)
    lost = keep("dropoff", Bay(uid=uuid.uuid4(), site=bay.site), at(5, 1), by=member, wants="parked", **A_BUCKET)
    bay.site.gate_rules.create(feedstock="hay", acceptance="never", reason="seeds", since=at(5, 1))
    bay.site.pauses.create(what="brown", until="2126-05-01", reason="enough")
    bay.site.caps.create(unit="litres", most=1)
    bay.site.calls.create(says="Straw, please.", until="2126-05-01", made_at=timezone.now())
    for figure, said in (("relative", "hay"), ("name", "Rushes"), ("gate", "never"), ("density", "")):
        number = 80 if figure == "density" else None
        OwnValue.objects.create(
            feedstock=OWN_MATERIAL, figure=figure, chosen=said, number=number, decided_at=timezone.now()
        )
    invite(administrator, AT_THE_GATE, timezone.now())
    newcomer = Member.objects.create_member("nela", "Nela")
    return {
        "twice": twice.uid,
        "lost": lost.uid,
        "hot heap": str(HotHeap.objects.create(bay=bay, built_on=timezone.now().date() - timedelta(days=3)).pk),
        "invitation": str(Ticket.objects.get().pk),
        "newcomer": str(newcomer.uid),
        "donor": str(Donor.objects.create(site=bay.site, kind="cafe", organisation="Corner Cup", contact="Kit").uid),
        "bean test": str(BeanTest.objects.create(entry=Entry.objects.get(uid=twice.uid), sown_on=at(5, 2)).pk),
    }


@pytest.fixture
def recorded(client_of, steward, coordinator, administrator, member, site: Site, waiting) -> list[Sent]:
    """Every form, filled in and sent by somebody who may."""
    sent = []
    for role, who in (("steward", steward), ("coordinator", coordinator), ("administrator", administrator)):
        browser = Recorder(role)
        browser.cookies = client_of(who).cookies
        look_after(browser, site, waiting)
        if role != "steward":
            browser.fill_in("heaps:coordinators", site.uid, person=str(member.uid))
            browser.fill_in("heaps:coordinators", site.uid, take_away=str(steward.uid))
            bring_in_files(browser, who)
        if role == "administrator":
            look_after_people(browser, site, member)
        sent += browser.sent
    return sent


def look_after(browser: Recorder, site: Site, waiting: Mapping[str, str]) -> None:
    """Whatever a coordinator does at a site."""
    one, two, three = site.bays.order_by("position")
    bucket = site.containers.order_by("pk")[0]
    browser.fill_in("members:invite", lasts="gate")
    browser.fill_in("members:invite", take_back=waiting["invitation"])
    browser.fill_in("members:new_phone", waiting["newcomer"])
    look_after_givers(browser, site, waiting)
    look_after_the_gate(browser, site, waiting)
    browser.fill_in("heaps:add_bay", site.uid, **BAY)
    browser.fill_in("heaps:bay", two.uid, name="By the hedge")
    browser.fill_in("heaps:take_bay_away", three.uid)
    browser.fill_in("heaps:opening", two.uid, **OPENING)
    browser.fill_in("heaps:add_container", site.uid, name="sack", litres="60", fill_per_cent="80")
    browser.fill_in("heaps:container", bucket.uid, litres="12")
    browser.fill_in("heaps:take_container_away", bucket.uid)
    for says in ("withdraw", "stands"):
        browser.fill_in("heaps:tray", says=says, entry=waiting["twice"])
    browser.fill_in("heaps:tray", says="place", entry=waiting["lost"], **{"bay-0": str(one.uid)})
    browser.fill_in("heaps:tray", says="leave out", entry=waiting["lost"])


def look_after_givers(browser: Recorder, site: Site, waiting: Mapping[str, str]) -> None:
    """Whatever a coordinator does about who gives, and about a load that may be bad."""
    load, donor = waiting["twice"], waiting["donor"]
    browser.fill_in("heaps:add_donor", kind="stable", organisation="Hobb Stables", site=str(site.pk))
    browser.fill_in("heaps:donor", donor, organisation="Corner Cups")
    for says in ("contact", "name"):
        browser.fill_in("heaps:erase_donor", donor, says=says)
    browser.fill_in("heaps:giver", load, giver=donor)
    browser.fill_in("heaps:add_bean_test", load, sown_on="2026-05-03")
    browser.fill_in("heaps:bean_test", load, waiting["bean test"], words="two leaves each")


def look_after_the_gate(browser: Recorder, site: Site, waiting: Mapping[str, str]) -> None:
    """Whatever a coordinator says at the gate, and the papers, which are for coordinators of all sites."""
    until = str(timezone.now().date() + timedelta(days=7))
    one = str(site.bays.order_by("position")[0].uid)
    browser.fill_in("heaps:at_gate", site.uid, says="times", open_times="Saturday 10 to 12")
    browser.fill_in("heaps:at_gate", site.uid, says="rule", feedstock="coffee", acceptance="never", reason="rats")
    browser.fill_in("heaps:at_gate", site.uid, says="pause", what="green", until=until, reason="wet")
    browser.fill_in("heaps:climate", site.uid, says="months", air_1="2,5", source="our own station")
    browser.fill_in("heaps:climate", site.uid, says="table", file=Notebook(YEAR), source="our own station")
    browser.fill_in("heaps:climate", site.uid, says="published")
    browser.fill_in("heaps:hot", site.bays.get(name="Bay 2").uid)
    browser.fill_in("heaps:hot", one, says="down", which=waiting["hot heap"])
    browser.fill_in("heaps:calls", site.uid, words="We need 4 sacks of leaves.", until=until)
    browser.fill_in("heaps:calls", site.uid, says="down", which=str(site.calls.earliest("pk").pk))
    for says, which in (("full", one), ("rule away", "hay"), ("pause away", "brown")):
        browser.fill_in("heaps:at_gate", site.uid, says=says, which=which)
    if browser.role != "steward":
        browser.fill_in("heaps:site_permissions", site.uid, says="papers", permit="EX 1234")
        browser.fill_in("heaps:site_permissions", site.uid, says="cap", feedstock="hay", typed="20", unit="kg")
        browser.fill_in("heaps:site_permissions", site.uid, says="away", which="/litres")
        look_after_materials(browser)


def look_after_materials(browser: Recorder) -> None:
    """Whatever a coordinator of all sites decides about materials, and what heaps are brought to."""
    browser.fill_in("heaps:targets", c_to_n_most="35", reason="less straw")
    browser.fill_in("heaps:targets", says="published")
    wood_chip, why = "wood-chip", {"reason": "weighed twice"}
    browser.fill_in("heaps:add_material", relative="hay", name="Reeds from the pond", **why)
    browser.fill_in("heaps:material", "hay", says="density", number="90", holds="all", **why)
    browser.fill_in("heaps:material", "hay", says="figure", figure="moisture", number="12", **why)
    browser.fill_in("heaps:material", wood_chip, says="name", words="Chips from the park")
    browser.fill_in("heaps:material", wood_chip, says="gate", chosen="treat first", **why)
    browser.fill_in("heaps:material", OWN_MATERIAL, says="withdraw")
    for which in ("density", "gate"):
        browser.fill_in("heaps:material", OWN_MATERIAL, says="back", which=which)


class Notebook(io.BytesIO):
    """A file that can be sent again and again."""

    name = "notebook.csv"

    def read(self, size: int | None = -1) -> bytes:
        return self.getvalue() or b"what,date,bay,colour\ndrop-off,3/5/2024,Bay 1,red\n"


YEAR = "\n".join(["month,air_c,rain_mm", *(f"{month},9.5,50" for month in range(1, 13))]).encode()


def bring_in_files(browser: Recorder, who: Member) -> None:
    """Whatever is done about a file, which may be of any site."""
    browser.fill_in("heaps:imports", of="notebook", file=Notebook())
    for says, state in (("stop", "going"), ("take back", "done"), ("forget", "read"), ("bring in", "stopped")):
        run = ImportRun.objects.create(file_name=f"{says}.csv", state=state, made_at=timezone.now(), person=who)
        browser.fill_in("heaps:import", run.uid, says=says)
        ImportRun.objects.filter(pk=run.pk).update(state="gone")
    upload = SimpleUploadedFile("columns.csv", Notebook().read())
    run = runs.begin(upload, ImportRun(file_name="columns.csv", made_at=timezone.now(), person=who))
    chosen = {f"column-{number}": name for number, name in enumerate(["what", "date", "bay", "leave out"])}
    browser.fill_in("heaps:import", run.uid, says="columns", **chosen)


def look_after_people(browser: Recorder, site: Site, someone: Member) -> None:
    """Whatever an administrator does."""
    browser.fill_in("heaps:add_site", name="Mill Field", time_zone="Europe/London")
    browser.fill_in("heaps:site", site.uid, name="Lane End")
    browser.fill_in("members:cooperative", name="Three Lanes")
    browser.fill_in("members:add_person", name="Rosa", username="rosa.m", password="grass and cardboard")
    browser.fill_in("members:person", someone.uid, name="Adele")
    browser.fill_in("members:person", someone.uid, account="close")
    browser.fill_in("members:new_password", someone.uid, new="grass and cardboard")
    browser.fill_in("erase", someone.uid, password="leaves and straw")


def test_nothing_that_was_sent_does_anything_for_somebody_else(recorded: list[Sent], others: dict[str, Client]) -> None:
    forms = {page["name"] for page in PAGES if "POST" in page}
    assert {one.name for one in recorded} == forms - NOT_ASKED.keys()  # every form is among them
    before = digest_of_rows(BOOKKEEPING)
    for one in recorded:
        for who, browser in others.items():
            if one.name in FOR_ALL_SITES and who == "the coordinator of another site":
                continue
            answer = browser.post(one.path, one.fields)
            turned_away = answer.status_code in (403, 404) or answer.headers.get("Location", "").startswith("/sign-in/")
            comes_back = (one.answer, answer.status_code) == (302, 200)  # with what its sender cannot choose
            assert turned_away or comes_back, (who, one.name, answer.status_code)
            assert digest_of_rows(BOOKKEEPING) == before, (who, one)


def test_a_form_takes_its_own_fields_only(
    recorded: list[Sent], client_of, steward: Member, coordinator: Member, administrator: Member
) -> None:
    people = {"steward": steward, "coordinator": coordinator, "administrator": administrator}
    browsers = {role: client_of(person) for role, person in people.items()}
    for one in recorded:
        smuggled = {key: value for key, value in every_field().items() if key not in one.own}
        plain = rows_after(browsers[one.role], one, one.fields)
        loaded = rows_after(browsers[one.role], one, {**smuggled, **one.fields})
        assert but_for_chance(loaded) == but_for_chance(plain), one.name
        told = json.dumps(loaded, default=str)
        assert not [mark for mark in ("11111111-1111", "1999-12-31", "smuggled") if mark in told], one.name


def rows_after(browser: Client, sent: Sent, fields: Mapping[str, str]) -> dict[str, list[dict[str, Any]]]:
    """Every row once a form was taken; then it is undone."""
    undo = transaction.savepoint()
    assert browser.post(sent.path, fields).status_code == sent.answer, sent.name
    found = every_row(BOOKKEEPING)
    transaction.savepoint_rollback(undo)
    return found


def test_one_s_own_password_is_changed_for_nobody_else(client_of, member: Member, other_member: Member) -> None:
    for one, word in ((member, "grass and cardboard"), (other_member, "peelings and chips")):
        one.set_password(word)
        one.save()
    said = {"old": "grass and cardboard", "new": "leaves and straw"}
    browser = client_of(other_member)
    before = digest_of_rows(BOOKKEEPING)
    answer = browser.post(reverse("members:own_password"), said)
    assert "This is not your password until now." in answer.content.decode()
    assert digest_of_rows(BOOKKEEPING) == before
    assert client_of(member).post(reverse("members:own_password"), said).status_code == 302


def test_one_s_own_device_is_ended_by_nobody_else(others: dict[str, Client], client_of, member: Member) -> None:
    own = client_of(member)
    uid = str(member.devices.get().uid)
    for who, browser in others.items():
        before = member.devices.values().get(), member.devices.get().sessions.count()
        for asked in ("device", "settled"):
            answer = browser.post(reverse("members:devices"), {asked: uid})
        assert answer.status_code == 404 or answer["Location"].startswith("/sign-in/"), who
        assert (member.devices.values().get(), member.devices.get().sessions.count()) == before
    assert own.get(reverse("heaps:mine")).status_code == 200
    own.post(reverse("members:devices"), {"device": uid})
    assert own.get(reverse("heaps:mine")).status_code == 302
