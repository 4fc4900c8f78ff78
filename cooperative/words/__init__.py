"""What the program says: every text gathered for translators, and how easily it reads."""

from cooperative.words.catalogue import catalogue
from cooperative.words.reading import figures

__all__ = ["catalogue", "figures"]
