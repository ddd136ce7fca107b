"""How broad the fingers are that a handle is made for.

The breadths are those of the index finger at its middle joint, of adults in the United States: the
smallest twentieth of women, the middle between the medians of women (18 mm) and men (21 mm), and
the largest twentieth of men. No percentiles for ages 13 to 18 were at hand, and a child's finger is
about 15 mm; a student who has measured their own hand gives that.

References
----------
.. [1] FAA Human Factors Design Standard, appendix B, index finger breadth: men 19, 21, 23 mm, women
   16, 18, 21 mm at the 5th, 50th and 95th percentile (by a secondary digest).
.. [2] Annals of Anatomy 192 (2010) 156-161: index fingers of children of 3 to 10 years, mean 15 mm.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Hand:
    """A size of hand, and the breadth of its index finger. [mm]"""

    name: str
    finger_breadth_mm: float


SMALL_HAND, USUAL_HAND, LARGE_HAND = Hand("small", 16.0), Hand("usual", 19.5), Hand("large", 23.0)

HANDS = (SMALL_HAND, USUAL_HAND, LARGE_HAND)

LEAST_FINGER_MM, MOST_FINGER_MM = 8.0, 32.0
"""Beyond these a breadth is a slip of the pen: a young child's finger, and half as broad again as a
large man's."""
