"""All that a questioned grade stands on, of one piece, in the order of time.

An agreed accommodation is between the teacher and the student: the file says that a reason is kept
private, no more. Nor does it hold what a student judged. A second look is told once it is closed.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.core.files.storage import default_storage
from django.utils import timezone

from rubrics.judging.batch import load_batch
from rubrics.models import Assessment, Mark, MarkChange, SecondLookPiece, ShelfOrder
from rubrics.publishing.publish import freeze
from rubrics.reports.evidence_file import Event, EvidenceFile, ReadingLine
from rubrics.reports.family import PrintedPicture
from studio.models import Outcome, Photo, Piece, Reading
from studio.projects.piece_sheet import photos_of, place_words
from studio.ware.quantities import QUANTITIES
from studio.ware.stages import STAGES
from studio.ware.units import format_measure

KEPT_PRIVATE = "a reason kept between teacher and student"


def evidence_file(piece: Piece, *, day) -> EvidenceFile:
    """Collect it; the number of queries does not depend on how much there is.

    Raises
    ------
    NoRubric
        The project has no rubric, so that there is no grade to ask about.
    """
    assessment = _assessment(piece)
    is_published = assessment is not None and assessment.published_at is not None
    shown = (
        assessment.shown
        if is_published
        else freeze(load_batch(piece.project, pieces=[piece]), piece)
    )
    photos = photos_of(piece)
    readings = list(piece.readings.select_related("made_by", "instrument", "taken_back_by"))
    events = [
        *_of_readings(readings),
        *_of_photos(photos),
        *_of_outcomes(piece),
        *_of_shelves(piece),
        *_of_marks(assessment),
        *_of_second_looks(piece),
    ]
    return EvidenceFile(
        shown=shown,
        student=piece.student.name,
        section=str(piece.section),
        day=day.isoformat(),
        stage=piece.stage,
        intent=piece.intent,
        is_published=is_published,
        readings=tuple(_row(each) for each in sorted(readings, key=_order) if _counts(each)),
        superseded=sum(each.superseded_at is not None for each in readings),
        pictures=tuple(_picture(photo) for photo in photos),
        events=tuple(sorted(events, key=lambda event: event.at)),
    )


def _assessment(piece: Piece) -> Assessment | None:
    return (
        Assessment.objects.by_teacher()
        .filter(piece=piece)
        .select_related("rubric", "published_by")
        .first()
    )


def _name(user) -> str:
    return (user.get_full_name() or user.get_username()) if user else "somebody who has left"


def _counts(reading: Reading) -> bool:
    return reading.superseded_at is None


def _order(reading: Reading) -> tuple:
    """By stage, then as a piece is measured."""
    return STAGES.index(reading.stage), list(QUANTITIES).index(reading.quantity), reading.pk


def _row(reading: Reading) -> ReadingLine:
    quantity = QUANTITIES[reading.quantity]
    return ReadingLine(
        stage=reading.stage,
        what=quantity.label,
        where=place_words(reading),
        value=format_measure(reading.value, quantity.unit),
        how=str(reading.instrument) if reading.instrument else reading.get_source_display(),
        who=_name(reading.made_by),
        day=timezone.localtime(reading.made_at).strftime("%Y-%m-%d"),
        is_in_question=bool(reading.doubt),
    )


def _of_readings(readings: list[Reading]) -> Iterator[Event]:
    """One event for what one person read of one stage on one day, one for each correction."""
    sittings: dict[tuple, list[Reading]] = {}
    for each in readings:
        key = (timezone.localtime(each.made_at).date(), each.made_by_id, each.stage, each.source)
        sittings.setdefault(key, []).append(each)
    for sitting in sittings.values():
        first = sitting[0]
        what = f"read {len(sitting)} values, {first.stage}, {first.get_source_display()}"
        yield Event(at=first.made_at, who=_name(first.made_by), what=what)
    for each in readings:
        if each.taken_back_by_id and each.superseded_at:
            words = f"{QUANTITIES[each.quantity].label}, {place_words(each)}".rstrip(", ")
            yield Event(
                at=each.superseded_at,
                who=_name(each.taken_back_by),
                what=f"took a reading back: {words}, {each.typed}",
            )


def _of_photos(photos: list[Photo]) -> Iterator[Event]:
    for photo in photos:
        seen = ", ".join(filter(None, (photo.get_view_display(), photo.stage)))
        yield Event(at=photo.added_at, who=_name(photo.added_by), what=f"added a photo: {seen}")


def _of_outcomes(piece: Piece) -> Iterator[Event]:
    noted = Outcome.objects.filter(piece=piece).select_related("noted_by", "load__firing")
    for each in noted:
        doing = "" if each.kind == "sound" else f", {each.get_doing_display()}"
        note = f": {each.note}" if each.note else ""
        what = f"noted what came of it: {each.kind} ({each.stage}{doing}){note}"
        yield Event(at=each.noted_at, who=_name(each.noted_by), what=what)


def _of_shelves(piece: Piece) -> Iterator[Event]:
    orders = ShelfOrder.objects.filter(project=piece.project_id)
    for each in orders.select_related("reader", "criterion"):
        if piece.pk in each.pieces:
            place = each.pieces.index(piece.pk) + 1
            what = f"saw it on the shelf of {each.criterion}: place {place} of {len(each.pieces)}"
            yield Event(at=each.shown_at, who=_name(each.reader), what=what)


def _of_marks(assessment: Assessment | None) -> Iterator[Event]:
    if assessment is None:
        return
    changes = MarkChange.objects.filter(assessment=assessment)
    for each in changes.select_related("who", "mark__criterion"):
        what = "changed the words" if each.mark is None else _mark_said(each)
        why = f" Why: {each.why}" if each.why and not each.is_private else ""
        undone = " Taken back later." if each.undone_at else ""
        when = " After publishing." if each.after_publishing else ""
        yield Event(at=each.at, who=_name(each.who), what=f"{what}.{when}{why}{undone}")
    if assessment.published_at:
        who = _name(assessment.published_by)
        yield Event(at=assessment.published_at, who=who, what="published the marks")


def _of_second_looks(piece: Piece) -> Iterator[Event]:
    places = (
        SecondLookPiece.objects.filter(piece=piece, look__closed_at__isnull=False)
        .select_related("look__reader", "look__opened_by")
        .prefetch_related(
            "look__rubric__criteria",
            "assessment__marks__level",
            "settled__criterion",
            "settled__by",
        )
    )
    for place in places:
        look = place.look
        drawn = f"drew it for a second look, by chance, of {look.batch} pieces (seed {look.seed})"
        yield Event(at=look.opened_at, who=_name(look.opened_by), what=drawn)
        marks = place.assessment.marks.all() if place.assessment else ()
        second = {mark.criterion_id: mark.level.number for mark in marks if mark.level}
        said = [
            f"{each.letter} {place.first[str(each.pk)]} and {second[each.pk]}"
            for each in look.rubric.criteria.all()
            if str(each.pk) in place.first and each.pk in second
        ]
        if said:
            what = f"looked a second time; levels first and second: {', '.join(said)}"
            yield Event(at=look.closed_at, who=_name(look.reader), what=what)
        for each in place.settled.all():
            what = f"settled {each.criterion} at level {each.level}. Why: {each.why}"
            yield Event(at=each.at, who=_name(each.by), what=what)


def _mark_said(change: MarkChange) -> str:
    before, after = (_level_said(state) for state in (change.before, change.after))
    reason = change.after.get("reason") or ""
    said = Mark.Reason(reason).label if reason else ""
    because = "; ".join(filter(None, (said, change.after.get("reason_text"))))
    if change.is_private:
        because = KEPT_PRIVATE
    suggested = change.after.get("suggested")
    beside = f", suggested {suggested}" if suggested else ""
    return (
        f"{change.mark.criterion}: {before} to {after}{beside}{f' ({because})' if because else ''}"
    )


def _level_said(state: dict) -> str:
    if state.get("excused"):
        return "excused"
    return "no level" if state.get("level") is None else f"level {state['level']}"


def _picture(photo: Photo) -> PrintedPicture:
    try:
        with default_storage.open(photo.middle.name) as file:
            data = file.read()
    except OSError:
        data = b""
    return PrintedPicture(file=data, stage=photo.stage, caption=photo.get_view_display())
