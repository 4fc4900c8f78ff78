"""What lies in each bay now, and what it needs: the board, and the story of one heap."""

from heaps.board.board import SiteNow, sites_now, waiting_for
from heaps.board.drawing import Band, Section
from heaps.board.figures import BayNow
from heaps.board.story import Story, story_of

__all__ = [
    "Band", "BayNow", "Section", "SiteNow", "Story", "sites_now", "story_of", "waiting_for",
]  # fmt: skip
