"""What a reader writes: drafts box by box, then sent to the teacher."""

from __future__ import annotations

import math
from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from rubrics.critique import wording
from rubrics.critique.boxes import BOXES, NUMBER_OF
from rubrics.critique.errors import CritiqueError, Elsewhere
from rubrics.critique.opening import refuse_closed
from rubrics.models import Look, Remark
from rubrics.models.critique import MOST_LETTERS
from studio.models import Photo

OPEN = (Remark.State.DRAFT, Remark.State.BACK)
"""A remark that its writer may still change."""


@dataclass(frozen=True, slots=True)
class Written:
    """One box as it was written: the words, and where they point."""

    text: str
    place: str = ""
    photo: int | None = None
    x: float | None = None
    y: float | None = None

    def fields(self) -> dict:
        return {
            "text": self.text,
            "place": self.place,
            "photo_id": self.photo,
            "x": self.x,
            "y": self.y,
        }


@transaction.atomic
def save_box(look: Look, box: str, written: Written, *, version: int, by=None) -> Remark:
    """Keep one box as a draft. ``version`` is the one that the page showed, 0 for a new box.

    Parameters
    ----------
    by : user, optional
        Who types it in from paper; left out where the reader writes.

    Raises
    ------
    Elsewhere
        It was written in another window since.
    CritiqueError
        The box is with the teacher or the maker already, the critique is closed, or a place that
        is not on a photo of this piece.
    """
    _hold(look)
    refuse_closed(look.shown.critique)
    _refuse_passed_on(look)
    written = _checked(look, box, written)
    stands = Remark.objects.filter(look=look, box=box).first()
    if stands is None:
        stands = _begin(look, box)
    if stands.state not in OPEN:
        raise CritiqueError("This box is sent. It comes back to you if your teacher asks.")
    if _same(stands, written):
        return stands
    if version != stands.version:
        raise Elsewhere(stands)
    changed = Remark.objects.filter(pk=stands.pk, version=version, state__in=OPEN).update(
        **written.fields(), version=F("version") + 1
    )
    if not changed:
        raise Elsewhere(Remark.objects.get(pk=stands.pk))
    if by is not None and look.typed_by_id != by.pk:
        Look.objects.filter(pk=look.pk).update(typed_by=by)
    return Remark.objects.get(pk=stands.pk)


@transaction.atomic
def send(look: Look) -> int:
    """Send the boxes that have words to the teacher; how many went.

    Raises
    ------
    CritiqueError
        No box has words, or one has more than the limit (said which).
    """
    critique = look.shown.critique
    refuse_closed(critique)
    _refuse_passed_on(look)
    drafts = list(Remark.objects.select_for_update().filter(look=look, state__in=OPEN))
    ready = [each for each in drafts if each.text.strip()]
    if not ready:
        raise CritiqueError("No box has words yet. Write in one at least; what you wrote is kept.")
    long = [each for each in ready if wording.read(each.text).too_long]
    if long:
        named = ", ".join(BOXES[NUMBER_OF[each.box] - 1].title for each in long)
        raise CritiqueError(
            f"More than {wording.MOST_WORDS} words in: {named}. Cut to the one thing that matters "
            "most; what you wrote is kept."
        )
    for each in ready:
        passes = critique.shows_unflagged and not wording.flags(
            each.text, pointed=bool(each.place or each.pin)
        )
        each.state = Remark.State.PASSED if passes else Remark.State.WAITING
        each.version += 1
    Remark.objects.bulk_update(ready, ["state", "version"])
    Look.objects.filter(pk=look.pk).update(sent_at=timezone.now())
    return len(ready)


def _hold(look: Look) -> None:
    """Keep the look's row until the box is written: a piece may be taken out meanwhile."""
    if not Look.objects.select_for_update().filter(pk=look.pk).exists():
        raise CritiqueError(
            "This piece was taken out of the critique. What you wrote is still in the page: copy "
            "it, if you want to keep it."
        )


def _begin(look: Look, box: str) -> Remark:
    try:
        with transaction.atomic():
            return Remark.objects.create(look=look, box=box)
    except IntegrityError:
        return Remark.objects.get(look=look, box=box)


def _refuse_passed_on(look: Look) -> None:
    if look.passed_on_at is not None:
        raise CritiqueError("Somebody else reads this piece now. What you wrote is kept.")


def _same(stands: Remark, written: Written) -> bool:
    return all(getattr(stands, name) == value for name, value in written.fields().items())


def _checked(look: Look, box: str, written: Written) -> Written:
    """The same, in order; a place on another piece's photo is refused."""
    if box not in Remark.Box.values:
        raise CritiqueError("There is no such box; reload the page.")
    if len(written.text) > MOST_LETTERS:
        raise CritiqueError(f"A box holds {MOST_LETTERS} letters; this has more. Cut it down.")
    if written.place and written.place not in Remark.Place.values:
        raise CritiqueError("That place is not on the list; choose another.")
    pin = (written.x, written.y)
    if written.photo is None or None in pin:
        return Written(written.text, written.place)
    if not all(math.isfinite(share) and 0 <= share <= 1 for share in pin):
        raise CritiqueError("The pin is not on the photo; set it again.")
    if not Photo.objects.filter(pk=written.photo, piece=look.shown.piece_id).exists():
        raise CritiqueError("The photo with your pin is gone; set the pin on another.")
    return written
