"""The teacher's gate: what waits, with its flags; let through or given back, many at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from rubrics.critique import wording
from rubrics.critique.boxes import NUMBER_OF
from rubrics.critique.errors import CritiqueError
from rubrics.models import Critique, Remark
from rubrics.models.critique import WHY_LENGTH

KIND_SENTENCES = (
    "Say where on the piece you see it, so that its maker can find it.",
    "Tell its maker why, and what to try: that is what can be used.",
    "Write about the piece, not about its maker. How would you like to hear it?",
)
"""To choose from; a teacher may write another."""

TAKEN_BACK = "I took this back to look at it once more. Write it another way, or send it again."
"""For a remark that its maker had already."""


@dataclass(frozen=True, slots=True)
class AtTheGate:
    """A remark in the list, with why it might want a second look."""

    remark: Remark
    number: int
    flags: tuple[str, ...]

    @property
    def seen(self) -> str:
        """Names the remark and its words as the page shows them."""
        return f"{self.remark.pk}:{self.remark.version}"


def remarks_of(critique: Critique):
    """Sent remarks of a critique with all that a list shows; one query."""
    return (
        Remark.objects.filter(look__shown__critique=critique)
        .exclude(state=Remark.State.DRAFT)
        .select_related("look__reader", "look__typed_by", "look__shown__piece__student")
        .order_by("look__shown__position", "pk")
    )


def at_the_gate(critique: Critique) -> list[AtTheGate]:
    """What waits, flagged ones first."""
    rows = [
        AtTheGate(
            remark,
            NUMBER_OF[remark.box],
            wording.flags(remark.text, pointed=bool(remark.place or remark.pin)),
        )
        for remark in remarks_of(critique).waiting()
    ]
    return sorted(rows, key=lambda row: not row.flags)


@transaction.atomic
def let_through(critique: Critique, seen: Iterable[tuple[int, int]], by) -> int:
    """Give remarks to their makers, each as the teacher saw it; how many went.

    ``seen`` holds pairs of id and version: words that changed since stay at the gate.
    """
    ruled = {"state": Remark.State.PASSED, "ruled_by": by, "ruled_at": timezone.now()}
    return sum(
        _as_seen(critique, pk, version)
        .filter(state=Remark.State.WAITING)
        .update(**ruled, back_words="", version=F("version") + 1)
        for pk, version in seen
    )


@transaction.atomic
def give_back(critique: Critique, seen: Iterable[tuple[int, int]], by, *, words: str) -> int:
    """Give remarks back to their writers with a sentence; how many went.

    One that the maker has not answered yet can be taken back from there too.

    Raises
    ------
    CritiqueError
        No sentence, or too long a one.
    """
    words = words.strip()
    if not words:
        raise CritiqueError("Say in a sentence what the writer could do; then it goes back.")
    if len(words) > WHY_LENGTH:
        raise CritiqueError(f"The sentence fits in {WHY_LENGTH} characters; this has more.")
    states = (Remark.State.WAITING, Remark.State.PASSED)
    return sum(
        _as_seen(critique, pk, version)
        .filter(state__in=states, answer="", helped=False)
        .update(
            state=Remark.State.BACK,
            back_words=words,
            ruled_by=by,
            ruled_at=timezone.now(),
            version=F("version") + 1,
        )
        for pk, version in seen
    )


def _as_seen(critique: Critique, pk: int, version: int):
    return Remark.objects.filter(look__shown__critique=critique, pk=pk, version=version)
