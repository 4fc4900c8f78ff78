"""What waits for a coordinator, and how each thing is settled."""

from heaps.tray.tray import Tray, answer, of_day, place, tray

__all__ = ["Tray", "answer", "of_day", "place", "tray"]
