"""A temperature logger's file: the first column is the time, and each further column is one probe, named in the
first line. Each cell that is not blank becomes a reading in degrees Celsius, or in a unit that it carries.

Times are the site's own, like 2024-05-31T14:00:00, 2024-05-31 14:00 or 31/5/2024 14:00. Where the clocks go back
in autumn, lines in the order of time are told apart.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from heaps.importing import cells
from heaps.importing.intake import Bad, Found
from heaps.importing.reasons import BadCell, Unreadable
from heaps.importing.tables import Line, Table
from heaps.models import Bay
from members.models import Member

#: The bounds of a temperature in tenths of a degree, as in the kinds of entry.
COLDEST, HOTTEST = -300, 1_200
LONGEST_NAME = 20


def rows(
    table: Table, lines: Iterable[Line], bay: Bay, importer: Member, before: datetime | None = None
) -> Iterator[Found | Bad]:
    """Each cell as a reading of its probe, `before` being the moment of the line before the first. Raises Unreadable
    where the probes have no fit names."""
    probes = probes_of(table)
    zone = ZoneInfo(bay.site.time_zone)
    for number, written in lines:
        if written is not None and not any(cell.strip() for cell in written):
            continue
        if written is None or not table.fits(written):
            yield Bad(number, "", BadCell("The cells do not fit the columns."))
            continue
        try:
            at = _moment(written[0].strip(), zone, before)
        except BadCell as bad:
            yield Bad(number, table.head[0], bad)
            continue
        before = at
        for probe, cell in zip(probes, written[1:], strict=False):
            if text := cell.strip():
                yield _reading(number, probe, text, at, bay, importer)


def probes_of(table: Table) -> tuple[str, ...]:
    """The names of the probes. Raises Unreadable."""
    probes = table.head[1:]
    if not probes:
        raise Unreadable("A logger's file needs a column for the time and one for each probe.")
    for name in probes:
        if not 1 <= len(name) <= LONGEST_NAME or not name.isprintable() or probes.count(name) > 1:
            raise Unreadable(
                "Give each probe a name of its own, up to %(most)s letters. This does not do: “%(found)s”.",
                most=LONGEST_NAME,
                found=name,
            )
    return probes


def _moment(text: str, zone: ZoneInfo, before: datetime | None) -> datetime:
    day, _, clock = text.replace("T", " ").partition(" ")
    at = cells.moment(cells.day(day), cells.clock(clock.strip()), zone, before)
    if at > datetime.now(UTC):
        raise BadCell("%(found)s is in the future.", found=text)
    return at


def _reading(number: int, probe: str, text: str, at: datetime, bay: Bay, importer: Member) -> Found | Bad:
    try:
        tenths = cells.whole(text, cells.TEMP_C, COLDEST, HOTTEST)
    except BadCell as bad:
        return Bad(number, probe, bad)
    raw = {
        "kind": "reading",
        "site": str(bay.site.uid),
        "bay": str(bay.uid),
        "occurred_at": at.isoformat(),
        "details": {"temp_tenths_c": tenths, "probe": probe},
        "words": "",
    }
    said = {"bay": str(bay.uid), "probe": probe, "at": at.isoformat(), "temperature": cells.same_number(text)}
    return Found(number, said, raw, importer)
