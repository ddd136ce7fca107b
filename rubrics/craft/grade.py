"""The arithmetic of a grade: weighted per cent, with its working out, in decimal numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

HUNDRED = Decimal(100)
ASSESSED, EXCUSED, OPEN = "assessed", "excused", "not assessed"


@dataclass(frozen=True, slots=True)
class Share:
    """One criterion's part in a grade.

    ``score`` is None while it is not assessed. One that is excused leaves both sums, whatever
    its score; one that is not assessed leaves them too, and makes the grade preliminary.
    """

    name: str
    weight: Decimal | int | float | str
    score: Decimal | int | float | str | None
    top: Decimal | int | float | str = 100
    excused: bool = False


@dataclass(frozen=True, slots=True)
class GradeLine:
    """One line of the working out: weight × score, of weight × top."""

    name: str
    weight: Decimal
    score: Decimal | None
    top: Decimal
    earned: Decimal
    possible: Decimal
    state: str
    """"assessed", "excused" or "not assessed"; only the first counts."""


@dataclass(frozen=True, slots=True)
class Working:
    """A per cent and how it comes about: 100 × earned / possible, rounded half up once."""

    percent: Decimal | None
    """None while nothing that counts is assessed."""
    exact: Decimal | None
    earned: Decimal
    possible: Decimal
    weight_counted: Decimal
    weight_total: Decimal
    complete: bool
    """Whether nothing is left to assess; an excused criterion is not left."""
    lines: tuple[GradeLine, ...]


def exact_decimal(value: Decimal | int | float | str) -> Decimal:
    """The decimal that a person wrote: 0.3 is three tenths, not the binary number next to it."""
    number = value if isinstance(value, Decimal) else Decimal(str(value))
    if not number.is_finite():
        raise ValueError("A weight or a score must be a number.")
    return number


def half_up(value: Decimal | int | float | str, places: int = 0) -> Decimal:
    """Round half up (away from zero), as a school does: 82.5 to 83, 2.675 to 2.68."""
    step = Decimal(1).scaleb(-places)
    return exact_decimal(value).quantize(step, rounding=ROUND_HALF_UP)


def work_out(shares: Sequence[Share], places: int = 0) -> Working:
    """Work out the weighted per cent, line by line.

    percent = 100 Σ(w s) / Σ(w s_max) over the criteria assessed.

    Parameters
    ----------
    shares : sequence of Share
        All criteria, in the order in which they are to be shown.
    places : int
        Decimal places of the per cent.

    Raises
    ------
    ValueError
        A weight or score that is negative or not a number, a top that is not above zero, or a
        score beyond its top.
    """
    lines = tuple(_line(share) for share in shares)
    counted = [line for line in lines if line.state == ASSESSED]
    earned = sum((line.earned for line in counted), Decimal(0))
    possible = sum((line.possible for line in counted), Decimal(0))
    exact = HUNDRED * earned / possible if possible else None
    return Working(
        percent=None if exact is None else half_up(exact, places),
        exact=exact,
        earned=earned,
        possible=possible,
        weight_counted=sum((line.weight for line in counted), Decimal(0)),
        weight_total=sum((line.weight for line in lines), Decimal(0)),
        complete=all(line.state != OPEN for line in lines),
        lines=lines,
    )


def _line(share: Share) -> GradeLine:
    weight, top = exact_decimal(share.weight), exact_decimal(share.top)
    score = None if share.score is None else exact_decimal(share.score)
    if weight < 0 or top <= 0 or (score is not None and not 0 <= score <= top):
        raise ValueError(
            f"{share.name}: a weight is not negative, and a score lies between 0 and its top."
        )
    state = EXCUSED if share.excused else OPEN if score is None else ASSESSED
    counts = state == ASSESSED
    return GradeLine(
        name=share.name,
        weight=weight,
        score=score,
        top=top,
        earned=weight * score if counts else Decimal(0),
        possible=weight * top if counts else Decimal(0),
        state=state,
    )


def percent(
    scores: Sequence[Decimal | int | float | str | None],
    weights: Sequence[Decimal | int | float | str],
    *,
    top: Decimal | int | float | str = 100,
    places: int = 0,
) -> Decimal | None:
    """Weighted per cent of scores out of ``top``; a score of None leaves both sums.

    Returns
    -------
    Decimal or None
        None where no score counts.
    """
    shares = [
        Share(str(number), weight, score, top)
        for number, (score, weight) in enumerate(zip(scores, weights, strict=True), 1)
    ]
    return work_out(shares, places).percent
