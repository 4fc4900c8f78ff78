"""Piles of the published table, by key."""

from heaps.science import recipe
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.fewest import Pile


def pile(feedstock: str, container_l: float, count: int) -> Pile:
    return recipe.pile(FEEDSTOCKS[feedstock], container_l, count)
