"""Three unlike pieces of ground: a school, an estate and an allotment, with what stands at their gates."""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.contrib.auth.hashers import make_password

from cooperative.demo.people import ALLOTMENT, ESTATE, PASSWORD, PEOPLE, SCHOOL
from heaps.models import Bay, Cap, Container, Donor, GateRule, Papers, Pause, Site, Stewardship
from members.models import Cooperative, Member

NAME = "Upper Mossfold Growers"
ZONE = "Europe/London"
BAG_LITRES = 40
#: A year begins two months before this one, so that two whole ones lie behind it.
MONTHS_INTO_YEAR = 2
CONTAINERS = {"bucket": (10, 90), "sack": (60, 90), "barrow": (80, 100)}  # litres, filled per cent


@dataclass(frozen=True)
class Ground:
    """A site: its bays from the gate on, who gives to it, what it asks for at its gate, its papers and caps."""

    name: str
    bays: tuple[str, ...]
    kind: str
    size_cm: tuple[int, int, int]
    open_times: str
    givers: dict[str, str]  # kind: the organisation
    cages: tuple[str, ...] = ()
    rules: tuple[tuple[str, str, str], ...] = ()
    pauses: tuple[tuple[str, int, str], ...] = ()  # what, for how many days from today, why
    papers: dict[str, tuple[str, int]] = field(default_factory=dict)  # what is typed, in how many days it ends
    caps: tuple[tuple[str, str, int], ...] = ()

    def litres_of(self, bay: str) -> float:
        """What a bay holds, filled level."""
        length, width, height = CAGE_CM if bay in self.cages else self.size_cm
        return length * width * height / 1000


CAGE_CM = (130, 130, 110)
GROUNDS = (
    Ground(
        SCHOOL,
        ("Bay 1", "Bay 2", "Bay 3", "Bay 4"),
        Bay.Kind.OPEN,
        (130, 130, 110),
        "Mon, Wed, Fri, 12:30 to 13:15",
        {Donor.Kind.CAFE: "Quillby School kitchen", Donor.Kind.GROCER: "Two Barrows Greengrocer"},
        rules=(
            ("horse-manure-straw", GateRule.Acceptance.NEVER, "Children dig here with their hands."),
            ("hedge-leafy", GateRule.Acceptance.TREAT, "Shred it first: our bays are small."),
        ),
        papers={"insurance": ("With the school's own", 41), "consent": ("Head teacher, in writing", 300)},
        caps=(("", Cap.Unit.LITRES, 12_000),),
    ),
    Ground(
        ESTATE,
        ("Bin 1", "Bin 2", "Bin 3", "Bin 4", "Bin 5", "Bin 6"),
        Bay.Kind.LIDDED,
        (110, 110, 100),
        "Every day, 8:00 to 20:00",
        {
            Donor.Kind.HOUSEHOLDS: "",
            Donor.Kind.CAFE: "The Wooden Spoon",
            Donor.Kind.GARDEN: "Ottermere Park",
            Donor.Kind.BREWERY: "Gosling Gate Brewery",
            Donor.Kind.OTHER: "Lantern Paper Workshop",
        },
        rules=(("tea-bags", GateRule.Acceptance.NEVER, "We found plastic mesh in the compost twice."),),
        pauses=((Pause.What.GREEN, 9, "No browns are left to mix in. Bring cardboard, please."),),
        papers={
            "permit": ("Exemption, as registered", 200),
            "insurance": ("Cover for volunteers", 130),
            "consent": ("Estate office, in writing", 25),
        },
        caps=(("", Cap.Unit.KG, 2_000),),
    ),
    Ground(
        ALLOTMENT,
        ("Long heap",),
        Bay.Kind.OPEN,
        (700, 150, 120),
        "Saturday 9:30 to 13:00",
        {Donor.Kind.STABLE: "Mossfold Stables"},
        cages=("Leaf cage 1", "Leaf cage 2", "Leaf cage 3"),
        rules=(("hay", GateRule.Acceptance.TREAT, "Sow a bean test first: weedkiller came with some."),),
        papers={"permit": ("Exemption, as registered", 210), "consent": ("Plot holders' meeting", 390)},
        caps=(("", Cap.Unit.KG, 7_000), ("horse-manure-straw", Cap.Unit.KG, 1_500)),
    ),
)
#: Gives to every site.
EVERYWHERE = {Donor.Kind.TREES: "Uphill Tree Care"}
ASKS = {
    Donor.Kind.STABLE: "Ring the bell at the yard gate",
    Donor.Kind.CAFE: "Two buckets by the back door, before ten",
    Donor.Kind.TREES: "Ring the day before; a whole trailer or nothing",
}


def lay_out(now: datetime) -> dict[str, Site]:
    """Store the cooperative, its people and its ground. The sites, by name."""
    starts_in = (now.month - 1 - MONTHS_INTO_YEAR) % 12 + 1
    Cooperative.objects.create(name=NAME, bag_litres=BAG_LITRES, year_starts_in_month=starts_in)
    sites = {ground.name: _site(ground, now.date()) for ground in GROUNDS}
    password = make_password(PASSWORD)  # made once: it takes a third of a second by design
    for person in PEOPLE:
        roles: dict[str, Any] = {f"is_{role}": True for role in person.roles}
        member = Member.objects.create(username=person.username, name=person.name, password=password, **roles)
        if person.looks_after:
            Stewardship.objects.create(site=sites[person.looks_after], member=member)
    _donors(None, EVERYWHERE)
    return sites


def _site(ground: Ground, today: date) -> Site:
    site = Site.objects.create(name=ground.name, time_zone=ZONE, open_times=ground.open_times)
    for position, name in enumerate((*ground.bays, *ground.cages), 1):
        kind, size = (Bay.Kind.LEAF, CAGE_CM) if name in ground.cages else (ground.kind, ground.size_cm)
        length, width, height = size
        Bay.objects.create(
            site=site, name=name, position=position, kind=kind, length_cm=length, width_cm=width, height_cm=height
        )
    for name, (litres, fill_per_cent) in CONTAINERS.items():
        Container.objects.create(site=site, name=name, litres=litres, fill_per_cent=fill_per_cent)
    _donors(site, ground.givers)
    _papers(site, ground, today)
    return site


def _papers(site: Site, ground: Ground, today: date) -> None:
    typed: dict[str, Any] = {}
    for what, (words, days) in ground.papers.items():
        typed |= {what: words, f"{what}_until": today + timedelta(days=days)}
    Papers.objects.create(site=site, **typed)
    for feedstock, unit, most in ground.caps:
        Cap.objects.create(site=site, feedstock=feedstock, unit=unit, most=most)


def make_rules(sites: dict[str, Site], since: datetime, today: date) -> None:
    """What each site asks for at its gate."""
    for ground in GROUNDS:
        site = sites[ground.name]
        for feedstock, acceptance, reason in ground.rules:
            rule = GateRule(site=site, feedstock=feedstock, acceptance=acceptance, reason=reason, since=since)
            rule.full_clean()
            rule.save()
        for what, days, reason in ground.pauses:
            Pause.objects.create(site=site, what=what, until=today + timedelta(days=days), reason=reason)


def _donors(site: Site | None, givers: dict[Any, str]) -> None:
    for kind, organisation in givers.items():
        Donor.objects.create(site=site, kind=kind, organisation=organisation, contact=ASKS.get(kind, ""))
