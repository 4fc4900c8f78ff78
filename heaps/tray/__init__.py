"""What waits for a coordinator, and how each thing is settled."""

from heaps.tray.tray import Tray, answer, place, tray

__all__ = ["Tray", "answer", "place", "tray"]
