"""Forty people and their phones. All of them are made up."""

from dataclasses import dataclass
from datetime import timedelta

PASSWORD = "leaves-and-peelings"  # noqa: S105 - printed at every start, and good on this machine only
SCHOOL, ESTATE, ALLOTMENT = "Quillby School", "Ottermere Estate", "Crooked Acre Allotments"
MINUTES, HOURS, DAYS = (timedelta(**{unit: 1}) for unit in ("minutes", "hours", "days"))


@dataclass(frozen=True)
class Person:
    """Somebody, the sites they go to, and their phones: how wrong the clock is, how long they wait for a signal."""

    username: str
    sites: tuple[str, ...]
    roles: tuple[str, ...] = ()
    looks_after: str = ""  # coordinator of this site alone
    clock_wrong: timedelta = timedelta()
    waits: timedelta = 2 * MINUTES
    phones: int = 1

    @property
    def name(self) -> str:
        return self.username.title()


#: Whoever has a part of their own in the story; the first of each role is the one to sign in as.
NAMED = (
    Person("tansy", (SCHOOL, ALLOTMENT), ("administrator",), phones=2),
    Person("bryony", (SCHOOL, ESTATE, ALLOTMENT), ("coordinator",), clock_wrong=timedelta(seconds=41), phones=2),
    Person("moss", (ESTATE,), looks_after=ESTATE, waits=5 * DAYS),  # no signal at home either
    Person("sorrel", (ALLOTMENT,), ("treasurer",), waits=5 * HOURS),
    Person("yarrow", (ALLOTMENT, ESTATE), clock_wrong=-3 * MINUTES, waits=7 * HOURS, phones=2),
    Person("teasel", (ALLOTMENT,), clock_wrong=HOURS, waits=2 * HOURS),  # never set back in autumn
    Person("clover", (SCHOOL,), waits=3 * DAYS),
    Person("plover", (ESTATE,), waits=DAYS),  # whose phone is away for the last two weeks
)
#: How long the others' phones usually wait for a signal, one after another.
USUAL_WAITS = (3 * HOURS, 3 * DAYS, 6 * DAYS, 26 * HOURS, 4 * DAYS)
OTHERS = {
    SCHOOL: "fern pipit bumble cowslip leveret ladybird newt",
    ESTATE: "dunnock linnet siskin badger otter vole dormouse hedgehog cricket woodruff speedwell mallow beetle",
    ALLOTMENT: "campion burdock vetch nettle lovage borage melilot chicory fennel sedge bramble meadowsweet",
}
PEOPLE = (
    *NAMED,
    *(
        Person(name, (site,), waits=USUAL_WAITS[place % len(USUAL_WAITS)])
        for site, names in OTHERS.items()
        for place, name in enumerate(names.split())
    ),
)


def who_goes_to(site: str) -> list[str]:
    """The sign-in names of those who bring something there, the busiest first; coordinators bring little."""
    return [one.username for one in reversed(NAMED) if site in one.sites] + OTHERS[site].split()
