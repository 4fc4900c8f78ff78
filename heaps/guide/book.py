"""The chapters of the guide in their order."""

from heaps.guide.cautions import CAUTIONS
from heaps.guide.foretelling import FORETELLING
from heaps.guide.how_it_works import BALANCE, CARE, STAGES
from heaps.guide.leaves_and_weeds import LEAF_MOULD, SOAKING_TUB
from heaps.guide.shape import Chapter
from heaps.guide.signs import SIGNS
from heaps.guide.use import USE
from heaps.guide.year import YEAR

CHAPTERS: dict[str, Chapter] = {
    chapter.key: chapter
    for chapter in (BALANCE, STAGES, SIGNS, CARE, LEAF_MOULD, SOAKING_TUB, FORETELLING, YEAR, USE, CAUTIONS)
}
