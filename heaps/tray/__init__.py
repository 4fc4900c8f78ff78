"""What waits for a coordinator, and how each thing is settled."""

from heaps.tray.placing import bring_back, leave_out, place
from heaps.tray.tray import Tray, answer, of_day, tray

__all__ = ["Tray", "answer", "bring_back", "leave_out", "of_day", "place", "tray"]
