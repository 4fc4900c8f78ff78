"""The names people write, and what they stand for here: sites, bays, containers, materials and people."""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from django.utils.translation import gettext_noop

from heaps.importing.reasons import BadCell
from heaps.models import Bay, Container, Site, known_materials
from heaps.science.materials import Materials
from members.models import Cooperative, Member

Thing = TypeVar("Thing")
#: What to say of a name that is not known here.
NO_SITE = gettext_noop("There is no site called %(name)s. %(guess)s")
NO_BAY = gettext_noop("There is no bay called %(name)s at %(site)s. %(guess)s")
NO_CONTAINER = gettext_noop("There is no container called %(name)s at %(site)s. %(guess)s")
NO_MATERIAL = gettext_noop("There is no material called %(name)s. %(guess)s")
NO_PERSON = gettext_noop("There is no person called %(name)s. Write the name somebody signs in with. %(guess)s")


def plainly(text: str) -> str:
    """A name without what people write in different ways: capitals and spaces."""
    return " ".join(text.split()).casefold()


@dataclass(frozen=True)
class Ground:
    """Everything that a line of a notebook may name. Small, and read once."""

    sites: Mapping[str, Site]
    bays: Mapping[tuple[int, str], Bay]
    containers: Mapping[tuple[int, str], Container]
    people: Mapping[str, Member]
    materials: Materials
    keys: Mapping[str, str]  # of materials, by what they are called
    bag_litres: int
    usual_site: Site | None

    @classmethod
    def known(cls, usual_site: str = "") -> "Ground":
        """What is known here. `usual_site` is meant where a line names none; the only site needs no naming."""
        sites = {plainly(site.name): site for site in Site.objects.all()}
        usual = _found(sites, usual_site, NO_SITE) if usual_site else None
        cooperative, materials = Cooperative.objects.first(), known_materials()
        return cls(
            sites=sites,
            bays={(bay.site_id, plainly(bay.name)): bay for bay in Bay.objects.all()},
            containers={(one.site_id, plainly(one.name)): one for one in Container.objects.all()},
            people={plainly(person.username): person for person in Member.objects.all()},
            materials=materials,
            keys=_keys(materials),
            bag_litres=cooperative.bag_litres if cooperative else 40,
            usual_site=usual or (next(iter(sites.values())) if len(sites) == 1 else None),
        )

    def site(self, name: str) -> Site:
        if not name:
            if self.usual_site:
                return self.usual_site
            raise BadCell("Say which site.")
        return _found(self.sites, name, NO_SITE)

    def bay(self, site: Site, name: str) -> Bay:
        if not name:
            raise BadCell("Say which bay.")
        here = {bay: found for (site_id, bay), found in self.bays.items() if site_id == site.pk}
        return _found(here, name, NO_BAY, site)

    def container(self, site: Site, name: str) -> Container:
        here = {one: found for (site_id, one), found in self.containers.items() if site_id == site.pk}
        return _found(here, name, NO_CONTAINER, site)

    def material(self, name: str) -> str:
        """The key of a feedstock, by its key, its short or its full name."""
        return _found(self.keys, name, NO_MATERIAL)

    def person(self, name: str) -> Member:
        """Somebody by the name they sign in with."""
        return _found(self.people, name, NO_PERSON)


def _keys(materials: Materials) -> dict[str, str]:
    """By full and short name and key. What the cooperative calls a material comes before what the list does."""
    names: dict[str, str] = {}
    for table in (materials.listed, materials):
        for key, feedstock in table.items():
            for name in (feedstock.name, feedstock.short, key):
                names[plainly(name)] = key
    return names


def _found(known: Mapping[str, Thing], name: str, missing: str, site: Site | None = None) -> Thing:
    if (thing := known.get(plainly(name))) is not None:
        return thing
    near = difflib.get_close_matches(plainly(name), known, n=1)
    guess = BadCell("Is it %(near)s?", near=near[0]) if near else ""
    raise BadCell(missing, name=name[:40], site=str(site), guess=guess)
