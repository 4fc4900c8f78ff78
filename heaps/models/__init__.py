"""What is on the ground, the ledger, what is kept beside it, what a site asks for at its gate,
and what is brought in from files."""

from heaps.models import many
from heaps.models.beside import Attendance, Checkpoint, DayTotal, Headcount, KeptAdvice, SiteStore, StoredBay, Use
from heaps.models.gate import Cap, GateRule, Papers, Pause
from heaps.models.ground import Bay, Container, ContainerWas, Donor, Site, Stewardship
from heaps.models.imports import ImportPart, ImportRun
from heaps.models.living import KeptForecast, KeptLesson
from heaps.models.own import OwnValue, known_materials
from heaps.models.rows import COLUMNS, BeanTest, Entry, Fresh, Ledger, Parked, Question, as_stored
from heaps.models.wants import Call, HotHeap, OwnClimate, OwnTargets, climate_at, targets_here

__all__ = [
    "COLUMNS", "Attendance", "Bay", "BeanTest", "Call", "Cap", "Checkpoint", "Container", "ContainerWas", "DayTotal",
    "Donor", "Entry", "Fresh", "GateRule", "Headcount", "HotHeap", "ImportPart", "ImportRun", "KeptAdvice",
    "KeptForecast", "KeptLesson", "Ledger", "OwnClimate", "OwnTargets", "OwnValue", "Papers", "Parked", "Pause",
    "Question", "Site", "SiteStore", "Stewardship", "StoredBay", "Use", "as_stored", "climate_at", "known_materials",
    "many", "targets_here",
]  # fmt: skip
