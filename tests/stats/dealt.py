"""What was dealt, looked at from the readers' side."""

from collections import Counter
from itertools import combinations


def by_reader(dealt):
    """Reader -> the makers whose pieces are to be read."""
    return {
        reader: [maker for maker, those in dealt.by_piece().items() if reader in those]
        for reader in dealt.makers
    }


def meetings(dealt):
    """How many pieces each pair of makers reads in common, every pair listed."""
    met = Counter(frozenset(pair) for each in dealt.readers for pair in combinations(each, 2))
    return [met[frozenset(pair)] for pair in combinations(dealt.makers, 2)]
