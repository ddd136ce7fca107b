"""Pages for families from what was published: rows to frozen figures, a class in a fixed number of
queries."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, time

from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import F

from rubrics.families.languages import language
from rubrics.models import Assessment, Report
from rubrics.reports.family import CameOut, FamilyPage, NotYet, PrintedPicture, PublishedPiece
from studio.models import Membership, Outcome, Photo, Piece, Section, Student
from studio.photos.framing import Share, at_one_scale, cup_window

PICTURES_OF_LATEST, PICTURES_OF_EARLIER = 3, 1
WORDS = ("strength", "strength_too", "next_step", "student_words", "words")
"""Fields of a report that the teacher writes."""

CHANGED_MEANWHILE = (
    "Somebody changed this page in another window. What you wrote stands below; "
    "compare it with the page and save again."
)


class ChangedMeanwhile(ValueError):  # noqa: N818  the name is what a view asks for
    """The words were changed since they were read; the message is a sentence for a teacher."""


@dataclass(frozen=True, slots=True)
class _Rows:
    """All rows that a class's pages need."""

    told: dict[int, list[Assessment]]
    unpublished: dict[int, list[NotYet]]
    teachers: tuple[str, ...]
    photos: dict[int, dict[int, Photo]]
    outcomes: dict[int, list[Outcome]]
    own_words: dict[int, str]
    reports: dict[int, Report]


def enrolled(section: Section) -> list[Student]:
    """The students of a section who have not left, by name."""
    return list(
        section.students.filter(enrolments__section=section, enrolments__left_on=None).order_by(
            "name", "pk"
        )
    )


def family_pages(
    section: Section, students: Sequence[Student], *, day: date
) -> Iterator[FamilyPage]:
    """The pages of those students of whom something is published, in the order given.

    Photo files are read one student after the other.
    """
    rows = _rows(section, students)
    for student in students:
        if rows.told.get(student.pk):
            yield _page(section, student, rows, day)


def _rows(section: Section, students: Iterable[Student]) -> _Rows:
    found = (
        Assessment.objects.by_teacher()
        .published()
        .filter(piece__section=section, piece__student__in=students)
        .select_related("piece__project")
        .order_by("-piece__project__number", "piece__code")
    )
    told: dict[int, list[Assessment]] = {}
    for each in found:
        told.setdefault(each.piece.student_id, []).append(each)
    pieces = [each.piece_id for rows in told.values() for each in rows]
    unpublished: dict[int, list[NotYet]] = {}
    waiting = Piece.objects.filter(section=section, student__in=students).exclude(pk__in=pieces)
    for piece in waiting.select_related("project").order_by("project__number"):
        unpublished.setdefault(piece.student_id, []).append(
            NotYet(project=piece.project.title, number=piece.project.number, state=piece.state)
        )
    photos: dict[int, dict[int, Photo]] = {}
    for photo in Photo.objects.filter(piece__in=pieces):
        photos.setdefault(photo.piece_id, {})[photo.pk] = photo
    outcomes: dict[int, list[Outcome]] = {}
    for outcome in Outcome.objects.filter(piece__in=pieces):
        outcomes.setdefault(outcome.piece_id, []).append(outcome)
    own = Assessment.objects.filter(kind=Assessment.Kind.SELF, piece__in=pieces)
    own = own.prefetch_related("next_steps")
    return _Rows(
        told=told,
        unpublished=unpublished,
        teachers=tuple(
            member.user.get_full_name() or member.user.username
            for member in section.memberships.filter(role=Membership.Role.TEACHER).select_related(
                "user"
            )
        ),
        photos=photos,
        outcomes=outcomes,
        own_words={each.piece_id: _own_words(each) for each in own},
        reports={each.student_id: each for each in Report.objects.filter(section=section)},
    )


def _own_words(assessment: Assessment) -> str:
    """What a student said worked, and what to try."""
    said = [assessment.words, *(step.text for step in assessment.next_steps.all())]
    return "\n".join(words.strip() for words in said if words.strip())


def _page(section: Section, student: Student, rows: _Rows, day: date) -> FamilyPage:
    told = rows.told[student.pk]
    report = rows.reports.get(student.pk) or Report()
    pieces = tuple(
        _told(each, rows, PICTURES_OF_EARLIER if place else PICTURES_OF_LATEST)
        for place, each in enumerate(told)
    )
    latest = told[0]
    return FamilyPage(
        student=student.name,
        section=str(section),
        day=day.isoformat(),
        pieces=pieces,
        unpublished=tuple(rows.unpublished.get(student.pk, ())),
        school=section.school,
        teachers=rows.teachers,
        strength=report.strength,
        strength_too=report.strength_too,
        next_step=report.next_step,
        student_words=report.student_words or rows.own_words.get(latest.piece_id, ""),
        words=report.words or latest.shown["words"],
        language=language(student.family_language),
    )


def _told(assessment: Assessment, rows: _Rows, most: int) -> PublishedPiece:
    piece = assessment.piece
    photos = rows.photos.get(piece.pk, {})
    shown = [photos[pk] for pk in assessment.shown["photos"] if pk in photos]
    # A picture that student or teacher chose goes first, also where it came after publishing.
    chosen = [photo for photo in photos.values() if photo.chosen]
    ordered = chosen + [photo for photo in _varied(shown) if photo not in chosen]
    pair = at_one_scale(shown) if most > 1 else None
    return PublishedPiece(
        shown=assessment.shown,
        number=piece.project.number,
        stage=piece.stage,
        intent=piece.intent,
        title=piece.title,
        pictures=tuple(_picture(photo, cup_window(photo)) for photo in ordered[:most]),
        pair=tuple(_picture(photo, window) for photo, window in pair or ()),
        outcomes=tuple(came_out(each) for each in rows.outcomes.get(piece.pk, ())),
    )


def came_out(outcome: Outcome) -> CameOut:
    """An outcome as a family's page tells it."""
    return CameOut(
        kind=outcome.kind,
        stage=outcome.stage,
        doing=outcome.doing,
        note=outcome.note,
        lost=outcome.severity == Outcome.Severity.LOSS,
    )


def _varied(photos: Sequence[Photo]) -> list[Photo]:
    """The finished piece from the side first; one photo of each view and stage before a second."""
    first = {(photo.stage, photo.view): photo for photo in reversed(photos)}
    ahead = [photo for photo in photos if first[photo.stage, photo.view] is photo]
    ahead.sort(key=lambda photo: (-photo.stage_order, photo.view != Photo.View.SIDE))
    return ahead + [photo for photo in photos if photo not in ahead]


def _picture(photo: Photo, window: Share | None) -> PrintedPicture:
    # A part of a photo is taken from the full file, else it would print too coarsely.
    kept = photo.middle if window is None else photo.file
    try:
        with default_storage.open(kept.name) as file:
            data = file.read()
    except OSError:
        data = b""
    return PrintedPicture(file=data, stage=photo.stage, caption=photo.caption, window=window)


def report_of(section: Section, student: Student) -> Report:
    """The words for a student's page; not saved where there are none yet."""
    found = Report.objects.filter(section=section, student=student).first()
    return found or Report(section=section, student=student)


@transaction.atomic
def keep_words(section: Section, student: Student, by, *, seen: int, **words: str) -> Report:
    """Keep what the teacher wrote for a student's page.

    Raises
    ------
    ChangedMeanwhile
        ``seen`` is not the version that stands.
    """
    report, _ = Report.objects.get_or_create(section=section, student=student)
    changed = Report.objects.filter(pk=report.pk, version=seen).update(
        version=F("version") + 1, changed_by=by, **{name: words[name] for name in WORDS}
    )
    if not changed:
        raise ChangedMeanwhile(CHANGED_MEANWHILE)
    report.refresh_from_db()
    return report


@transaction.atomic
def keep_times(section: Section, times: dict[int, time | None], on: date | None) -> None:
    """Keep the day of the conference, and the times beside the students by student id."""
    standing = {each.student_id: each for each in Report.objects.filter(section=section)}
    for student, at in times.items():
        report = standing.get(student)
        told = {"conference_on": on if at else None, "conference_at": at}
        if report is None and at is not None:
            Report.objects.create(section=section, student_id=student, **told)
        elif report is not None and told != {name: getattr(report, name) for name in told}:
            for name, value in told.items():
                setattr(report, name, value)
            report.save(update_fields=list(told))
