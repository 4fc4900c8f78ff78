"""What goes in and what to do instead, how a heap works, its signs, and the cautions that belong to it."""

from heaps.guide.book import CHAPTERS as CHAPTERS
from heaps.guide.search import Found as Found
from heaps.guide.search import Place as Place
from heaps.guide.search import for_phone as for_phone
from heaps.guide.search import search as search
from heaps.guide.shape import Chapter as Chapter
from heaps.guide.shape import Part as Part
from heaps.guide.signs import GROUPS as GROUPS
from heaps.guide.things import ANSWERS as ANSWERS
from heaps.guide.things import Answer as Answer
from heaps.guide.things import Thing as Thing
from heaps.guide.things import answers as answers
from heaps.guide.things import sources as sources
