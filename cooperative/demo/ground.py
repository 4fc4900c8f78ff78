"""Who and where: the people, the site, its bays in a row and its containers. All of them are made up."""

from dataclasses import dataclass
from datetime import timedelta

from django.contrib.auth.hashers import make_password

from heaps.models import Bay, Container, Donor, Site, Stewardship
from members.models import Cooperative, Member

PASSWORD = "leaves-and-peelings"  # noqa: S105 - printed at every start, and good on this machine only
ZONE = "Europe/London"
BAY_CM = {"length_cm": 120, "width_cm": 120, "height_cm": 100}


@dataclass(frozen=True)
class Person:
    """Somebody, with a phone: how wrong its clock is, and how long it usually waits for a signal."""

    username: str
    roles: tuple[str, ...] = ()
    clock_wrong: timedelta = timedelta()
    waits: timedelta = timedelta(minutes=2)
    looks_after_site: bool = False  # coordinator of this site, and of no other that may come

    @property
    def name(self) -> str:
        return self.username.title()


PEOPLE = (
    Person("tansy", ("coordinator", "administrator")),
    Person("bryony", ("coordinator",), clock_wrong=timedelta(seconds=41)),
    Person("sorrel", ("treasurer",), waits=timedelta(hours=5)),
    Person("yarrow", clock_wrong=timedelta(minutes=-3), waits=timedelta(hours=7)),
    Person("teasel", clock_wrong=timedelta(hours=1), waits=timedelta(hours=2)),  # never set back in autumn
    Person("moss", waits=timedelta(days=5, hours=3), looks_after_site=True),  # no signal at home either
)
CONTAINERS = {"bucket": (10, 90), "tub": (30, 100), "sack": (60, 90), "barrow": (80, 100)}
GIVERS = {  # kind: the organisation, as invented as everything here
    Donor.Kind.CAFE: "The Wooden Spoon",
    Donor.Kind.STABLE: "Mossfold Stables",
    Donor.Kind.TREES: "Uphill Tree Care",
    Donor.Kind.HOUSEHOLDS: "",
}
BAYS = ("Bay 1", "Bay 2", "Bay 3", "Bay 4", "Bay 5", "Leaf bin")


def lay_out() -> Site:
    """Store the cooperative, its people and its ground."""
    Cooperative.objects.create(name="Upper Mossfold Growers", bag_litres=40)
    password = make_password(PASSWORD)  # made once: it takes a third of a second by design
    for person in PEOPLE:
        roles = {f"is_{role}": True for role in person.roles}
        Member.objects.create(username=person.username, name=person.name, password=password, **roles)
    site = Site.objects.create(name="Crooked Acre", time_zone=ZONE)
    for position, name in enumerate(BAYS, 1):
        kind = Bay.Kind.LEAF if name == "Leaf bin" else Bay.Kind.OPEN
        Bay.objects.create(site=site, name=name, position=position, kind=kind, **BAY_CM)
    for name, (litres, fill_per_cent) in CONTAINERS.items():
        Container.objects.create(site=site, name=name, litres=litres, fill_per_cent=fill_per_cent)
    for member in Member.objects.filter(username__in=[one.username for one in PEOPLE if one.looks_after_site]):
        Stewardship.objects.create(site=site, member=member)
    for giver, organisation in GIVERS.items():
        asks = "Ring the bell at the yard gate" if giver == Donor.Kind.STABLE else ""
        Donor.objects.create(site=site, kind=giver, organisation=organisation, contact=asks)
    return site
