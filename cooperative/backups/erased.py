"""Who was erased stays erased, whatever copy is brought back: digests of their numbers stand in the records, and beside
the copies, for a day on which the records themselves cannot be read any more."""

import re
from pathlib import Path

from cooperative.backups import shelf
from heaps import donors
from heaps.models import Donor
from members.models import Erased, Member

LIST = "erased.txt"
Known = frozenset[str]  # digests


def write_list(*folders: Path) -> None:
    """Write down beside the copies who was erased, here and in what was brought back here before."""
    here = frozenset(Erased.objects.values_list("of", flat=True))
    for folder in folders or (shelf.folder(shelf.home()),):
        shelf.write(folder / LIST, "".join(f"{one}\n" for one in sorted(here | read_list(folder))))


def read_list(folder: Path) -> Known:
    """Who was erased, by the list in a folder. A broken line says nothing."""
    path = folder / LIST
    return frozenset(re.findall(r"(?m)^[0-9a-f]{64}$", path.read_text(encoding="utf-8"))) if path.exists() else Known()


def erase_again(known: Known) -> int:
    """Take out of the database on which we stand whoever was erased since it was copied. How many that were."""
    from cooperative import leaving  # which writes the list, and so needs this module

    people = [one for one in Member.objects.all() if Erased.digest("person", one.uid) in known]
    for person in people:
        leaving.erase(person.pk, even_the_last=True)
    givers = list(Donor.objects.exclude(contact="", organisation=""))
    gone = [giver for giver in givers if Erased.digest("giver", giver.uid) in known]
    for giver in gone:
        donors.erase(giver)
    for giver in givers:
        if giver not in gone and giver.contact and Erased.digest("contact", giver.uid) in known:
            donors.erase_contact(giver)
            gone.append(giver)
    Erased.objects.bulk_create([Erased(of=one) for one in known], ignore_conflicts=True)
    return len(people) + len(gone)
