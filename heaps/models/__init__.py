"""What is on the ground, the ledger, what is kept beside it, what a site asks for at its gate,
and what is brought in from files."""

from heaps.models import many
from heaps.models.beside import Attendance, Checkpoint, DayTotal, Headcount, StoredBay, Use
from heaps.models.gate import Cap, GateRule, Papers, Pause
from heaps.models.ground import Bay, Container, ContainerWas, Donor, Site, Stewardship
from heaps.models.imports import ImportPart, ImportRun
from heaps.models.own import OwnValue, known_materials
from heaps.models.rows import BeanTest, Entry, Ledger, Parked, Question

__all__ = [
    "Attendance", "Bay", "BeanTest", "Cap", "Checkpoint", "Container", "ContainerWas", "DayTotal", "Donor", "Entry",
    "GateRule", "Headcount", "ImportPart", "ImportRun", "Ledger", "OwnValue", "Papers", "Parked", "Pause", "Question",
    "Site", "Stewardship", "StoredBay", "Use", "known_materials", "many",
]  # fmt: skip
