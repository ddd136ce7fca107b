"""Build the demo: an invented class and its batch, through the same functions as real records.

The scenario and its readings stand in ``fixtures/demo``, the rendered photographs in
``fixtures/photos``. Nothing here writes a reading or a mark by itself: readings come in as the
file they are, marks through the functions that the pages call.
"""

import json
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from django.contrib.auth import get_user_model
from django.db import transaction
from django.utils import timezone

from rubrics.demo import critiques, fairness, firings, history, making, stand_ins
from rubrics.demo.clay import add_tests
from rubrics.demo.students import answer_steps, judge_as_maker
from rubrics.judging import marking
from rubrics.models import Criterion, Mark, Rubric
from rubrics.publishing.publish import publish
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.access import instruments
from studio.camera.mat import CHECK_BAR_MM
from studio.measuring import readings_import
from studio.models import (
    Clay,
    MatPrint,
    Outcome,
    Photo,
    Piece,
    Plan,
    PlannedSize,
    Project,
    Section,
    Stage,
    Student,
)
from studio.people import sections
from studio.photos import filing
from studio.projects.clays import keep_clay
from studio.projects.pieces import begin_pieces, note_outcome

TEACHER, HEAD, STUDENT = "demo-teacher", "demo-head", "demo-student"
SHOWN_NAMES = {TEACHER: "Demo Teacher", HEAD: "Demo Head", STUDENT: "Demo Student"}
# The finished batch; an earlier number is history, a later one in work.
CUP_NUMBER = 3
RENDERED = "Rendered photograph"
STAGES_OF_PHOTOS = {"leather": Stage.LEATHER_HARD, "fired": Stage.GLAZED}
VIEWS_OF_PHOTOS = {"side": Photo.View.SIDE, "top": Photo.View.TOP}

# What the demo's teacher saw where her level leaves the suggestion, by criterion.
SEEN = {
    "B": "The thick place can be felt from the lip down to the belly.",
    "C": "Pressed clean inside, the step is only in the slip.",
    "D": "It stands steady; the eye finds no fault with the foot.",
    "E": "Off its mark, but two fingers sit well and the cup hangs straight when full.",
    "I": "It drinks well and is no heavier than it looks, whatever it holds.",
}


@dataclass(frozen=True, slots=True)
class Built:
    """What :func:`build` found or made."""

    is_new: bool
    pieces: int
    readings: int
    photos: int


def build(fixtures: Path) -> Built:
    """Make the invented class in an empty database; an existing one is left as it is."""
    if Section.objects.exists():
        project = Project.objects.get(number=CUP_NUMBER)
        return Built(False, project.pieces.count(), 0, 0)
    scenario = json.loads((fixtures / "demo" / "scenario.json").read_text(encoding="utf-8"))
    with transaction.atomic():
        teacher, section = _people(scenario)
        project = _project(scenario, section)
        pieces = _pieces(scenario, section, project, teacher)
        kept = _photos(fixtures / "photos", section, pieces, teacher)
        kept += stand_ins.hang(fixtures / "demo", pieces, teacher)
        taken = _readings(fixtures / "demo" / "readings.csv", project, teacher)
        firings.build(fixtures / "demo", pieces, teacher)
        choose_rubric(project, ensure_starter_rubric())
        maker = pieces[scenario["demo_student"]]
        maker.student.refresh_from_db()
        criteria = Rubric.objects.whole().get(uses__project=project).criteria.all()
        judge_as_maker(maker, criteria)
        _judge(scenario, project, pieces, teacher)
        answer_steps(maker)
        add_tests(project.plan.clay)
        history.build(scenario, section, teacher, fixtures / "demo")
        fairness.build(section, teacher)
        in_work = making.build(section, project.plan.clay, teacher)
        critiques.build(in_work, list(pieces.values()), teacher, maker.student, fixtures / "photos")
    return Built(True, len(pieces), taken, kept)


def set_passwords(password_of: dict[str, str]) -> None:
    """Give the demo's people their passwords."""
    for user in get_user_model().objects.filter(username__in=password_of):
        user.set_password(password_of[user.username])
        user.save(update_fields=["password"])


def _people(scenario):
    users = get_user_model().objects
    for name, shown in SHOWN_NAMES.items():
        first, last = shown.split()
        users.get_or_create(
            username=name,
            defaults={"first_name": first, "last_name": last, "is_staff": name == TEACHER},
        )
    teacher = users.get(username=TEACHER)
    section = sections.open_section(Section(**scenario["section"]), teacher)
    sections.share(section, HEAD, by=teacher)
    joining = [sections.Joining(name=piece["name"]) for piece in scenario["pieces"]]
    sections.enrol(section, joining, by=teacher)
    reader = next(p for p in scenario["pieces"] if p["code"] == scenario["demo_student"])
    Student.objects.filter(name=reader["name"]).update(login=users.get(username=STUDENT))
    return teacher, section


def _project(scenario, section) -> Project:
    told = scenario["clay"]
    clay = keep_clay(
        Clay(name=told["name"], maturing_cone=told["maturing_cone"], owner=_teacher_of(section)),
        {
            stage: (Decimal(str(percent)), Decimal(str(told["spread_percent"])))
            for stage, percent in told["shrinkage_percent"].items()
        },
    )
    wanted = scenario["project"]
    project = Project.objects.create(
        section=section,
        number=wanted["number"],
        title=wanted["title"],
        brief=wanted["brief"],
        begun_on=timezone.localdate(),
    )
    sizes = wanted["plan"].pop("sizes")
    plan = Plan.objects.create(project=project, clay=clay, **wanted["plan"])
    PlannedSize.objects.bulk_create(
        PlannedSize(plan=plan, name=name, fired_mm=size) for name, size in sizes.items()
    )
    return project


def _teacher_of(section):
    return section.memberships.get(role="teacher").user


def _pieces(scenario, section, project, teacher) -> dict[str, Piece]:
    students = {student.name: student for student in section.students.all()}
    pieces = {
        piece.code: piece
        for piece in begin_pieces(
            project, [(students[each["name"]], each["code"]) for each in scenario["pieces"]]
        )
    }
    for each in scenario["pieces"]:
        piece = pieces[each["code"]]
        absent = len(each["walls"]) < len("NESW")
        piece.intent = each["intent"]
        piece.stage = Stage.LEATHER_HARD if absent else Stage.GLAZED
        piece.stage_since = timezone.localdate()
        piece.state = each.get("state", Piece.State.IN_WORK if absent else Piece.State.FINISHED)
        if piece.state == Piece.State.BROKEN:
            piece.stage = Stage.BISQUE
        piece.save()
        if each["outcome"]:
            kind, severity, doing, note = each["outcome"]
            outcome = Outcome(
                piece=piece,
                stage=piece.stage,
                kind=kind,
                severity=severity,
                doing=doing,
                note=note,
            )
            note_outcome(outcome, teacher)
    return pieces


def _photos(folder: Path, section, pieces, teacher) -> int:
    MatPrint.objects.create(owner=teacher, bar_mm=CHECK_BAR_MM)  # the renderer's mat is true
    files = sorted(folder.glob("K3-*.jpg"))
    for file in files:
        code, stage, view = file.stem.rsplit("-", 2)
        photo = filing.take_and_file(
            section, file.read_bytes(), file.name, teacher, piece=pieces[code]
        ).photo
        photo.stage, photo.view = STAGES_OF_PHOTOS[stage], VIEWS_OF_PHOTOS[view]
        photo.caption = RENDERED
        photo.save()
    return len(files)


def _readings(file: Path, project, teacher) -> int:
    data, tools = file.read_bytes(), list(instruments(teacher))
    look = readings_import.preview(project, data, tools)
    readings_import.take(project, data, tools, by=teacher, seal=look.seal)
    return len(look.new)


def _judge(scenario, project, pieces, teacher) -> None:
    """Mark the pieces that the scenario calls judged or published, and publish the latter."""
    rubric = Rubric.objects.whole().get(uses__project=project)
    for each in scenario["pieces"]:
        if each["stands"] == "open":
            continue
        piece = pieces[each["code"]]
        version = marking.open_assessment(piece, teacher).version
        for criterion, level in zip(rubric.criteria.all(), each["levels"], strict=True):
            version = _mark(piece, criterion, int(level), teacher, version)
        marking.set_words(
            piece,
            teacher,
            words=each["strong"],
            next_step=each["next"],
            seen_words="",
            seen_next_step="",
        )
    publish(
        project,
        teacher,
        [pieces[each["code"]] for each in scenario["pieces"] if each["stands"] == "published"],
    )


def _mark(piece: Piece, criterion: Criterion, level: int, teacher, version: int) -> int:
    mark = marking.set_level(piece, criterion, level, teacher, expected_version=version)
    version = mark.assessment.version
    if mark.wants_reason:
        mark = marking.give_reason(
            piece,
            criterion,
            teacher,
            expected_version=version,
            reason=Mark.Reason.SEEN,
            reason_text=SEEN[criterion.letter],
        )
        version = mark.assessment.version
    return version
