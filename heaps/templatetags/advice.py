"""Words of advice on pages: signs, weeds, leaves, heat."""

from django import template

from heaps import wording
from heaps.advice_words import LEAF_ADVICE, LEAF_DISAGREE, watched_word
from heaps.rule_words import time
from heaps.science.leaf_mould import Advice

register = template.Library()


@register.filter
def watched_sign(word: str) -> str:
    """A sign that is looked at again."""
    return watched_word(word)


@register.filter
def weed(word: str) -> str:
    """A weed of the soaking tub, as a name stands in a list."""
    said = wording.said("weed", word)
    return said[:1].upper() + said[1:]


@register.filter
def sieved(word: str) -> str:
    """Whether compost is coarse or sieved."""
    return wording.said("sieved", word)


@register.filter
def leaf_advice(word: Advice) -> str:
    """What helps leaves along."""
    return str(LEAF_ADVICE[word])


@register.filter
def leaf_disagrees(source: str) -> str:
    """What a source says against the others."""
    return str(LEAF_DISAGREE[source])


@register.filter
def heat_time(hours: float) -> str:
    """Hours of heat, as days where it is a day or more."""
    return time(hours)
