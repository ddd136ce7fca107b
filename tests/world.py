"""One small class with everything an address can name, and a person for each role."""

import io
from types import SimpleNamespace

from PIL import Image

from rubrics.critique import eye, gate, opening, writing
from rubrics.fairness.second_look import open_look
from rubrics.families import print_runs
from rubrics.judging import marking
from rubrics.models import Critique, Look, Mark, MeasuringStudy, NextStep, Remark
from rubrics.publishing.publish import publish
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric, copy_rubric
from studio.models import Clay, GlazeCoat, Instrument, Outcome, PlaceRequest, Section
from studio.people import enrolment_requests
from studio.photos import storing
from tests import factories


def make_world():
    """A section with all that an address can name, and a person for each role."""
    make = factories.make_user
    people = {
        "teacher": make("teacher", is_staff=True),
        "colleague": make("colleague", is_staff=True),
        "head": make("head"),
        "student": make("student"),
        "classmate": make("classmate"),
        "outsider": make("outsider"),
        "nobody": None,
    }
    teacher = people["teacher"]
    section = factories.make_section(teacher, head=people["head"])
    factories.make_section(people["colleague"], name="Bell 7")
    student = factories.make_student(section, "Amara O.", login=people["student"])
    other = factories.make_student(section, "Bao N.", login=people["classmate"])
    project = factories.make_project(section)
    piece = factories.make_piece(project, student, "K3-01", stage="glazed")
    factories.make_piece(project, other, "K3-02")
    untold = factories.make_piece(project, student, "K3-03", stage="glazed")
    factories.read_rim(piece, 90, 91, 90, 91, stage="glazed")
    rubric = copy_rubric(ensure_starter_rubric(), teacher)
    choose_rubric(project, rubric)
    version = 0
    for criterion in rubric.criteria.all():
        mark = marking.set_level(piece, criterion, 4, teacher, expected_version=version)
        version = mark.assessment.version
        if mark.wants_reason:
            mark = marking.give_reason(
                piece, criterion, teacher, expected_version=version, reason=Mark.Reason.SEEN
            )
            version = mark.assessment.version
    marking.set_words(
        piece,
        teacher,
        words="",
        next_step="Level the rim on a flat board.",
        seen_words="",
        seen_next_step="",
    )
    publish(project, teacher, [piece])
    picture = io.BytesIO()
    Image.new("RGB", (64, 48), "tan").save(picture, "JPEG")
    photo = storing.store(section, piece, storing.take_in(picture.getvalue(), "a.jpg"), teacher)
    second = open_look(project, teacher, reader=people["colleague"], within=0.2)
    outcome = Outcome.objects.create(piece=piece, stage="glazed", kind="craze")
    firing = factories.make_firing(teacher, piece)
    asked = print_runs.PrintOrder(
        section=section.pk, user=teacher.pk, students=(student.pk,), day="2026-03-26"
    )
    run = print_runs.start(asked)
    print_runs.print_chunk(run, asked, section, 0)
    look, remark = _critique(teacher, project, piece, photo)
    asking = Section.objects.get(name="Bell 7")
    enrolment_requests.ask(other, asking, people["colleague"], name="Bao N.")
    setting = _eye_setting(teacher, project, piece, picture.getvalue())
    ids = {
        "place_id": PlaceRequest.objects.get().pk,
        "critique_id": look.shown.critique_id,
        "look_id": look.pk,
        "remark_id": remark.pk,
        "eye_id": setting.pk,
        "sheet_name": "labels",
        "run": run,
        "second_look_id": second.pk,
        "place": 1,
        "study_id": MeasuringStudy.objects.create(
            owner=teacher, title="Calliper", quantity="wall_thickness", typed=""
        ).pk,
        "number": 0,
        "sheet": 1,
        "section_id": section.pk,
        "student_id": student.pk,
        "project_id": project.pk,
        "piece_id": piece.pk,
        "photo_id": photo.pk,
        "outcome_id": outcome.pk,
        "coat_id": GlazeCoat.objects.create(piece=piece, glaze="Clear").pk,
        "kiln_id": firing.kiln_id,
        "firing_id": firing.pk,
        "clay_id": Clay.objects.create(name="Own clay", owner=teacher).pk,
        "instrument_id": Instrument.objects.create(
            name="Own rule", owner=teacher, resolution=1, repeatability=0.1
        ).pk,
        "rubric_id": rubric.pk,
        "criterion_id": rubric.criteria.first().pk,
        "step_id": NextStep.objects.get(assessment__piece=piece).pk,
        "size": "small",
        "kind": "csv",
        "paper": "letter",
        "check": "rim_level",
    }
    return SimpleNamespace(people=people, ids=ids, untold=untold)


def _critique(teacher, project, piece, photo):
    """A third maker, a critique of one look each way, and a remark on the piece that passed."""
    third = factories.make_student(project.section, "Camila R.")
    factories.make_piece(project, third, "K3-04")
    latest = [each for each in opening.pieces_to_show(project) if each.code != "K3-03"]
    shown = [piece, *(each for each in latest if each.student_id != piece.student_id)]
    critique = opening.open_critique(Critique(project=project, readers=2), teacher, shown, seed=1)
    look = Look.objects.get(shown__critique=critique, shown__piece=piece, reader__name="Bao N.")
    writing.save_box(
        look,
        Remark.Box.TRY,
        writing.Written("Try a wider foot, because it rocks.", photo=photo.pk, x=0.5, y=0.8),
        version=0,
    )
    writing.save_box(look, Remark.Box.SEE, writing.Written("A level rim."), version=0)
    writing.send(look)
    waiting = gate.at_the_gate(critique)
    remark = look.remarks.get(box=Remark.Box.TRY)
    seen = [(row.remark.pk, row.remark.version) for row in waiting if row.remark.pk == remark.pk]
    gate.let_through(critique, seen, teacher)
    return look, remark


def _eye_setting(teacher, project, piece, picture: bytes):
    """The piece and two of an earlier project as anchor cups, each with a photo of its own."""
    earlier = factories.make_project(project.section, "Pinch cup", number=1)
    cups = [piece]
    for number in range(1, eye.CUPS):
        cup = factories.make_piece(earlier, piece.student, f"K1-0{number}", stage="glazed")
        upload = storing.take_in(picture + bytes([number]), f"{number}.jpg")
        storing.store(project.section, cup, upload, teacher)
        cups.append(cup)
    return eye.open_setting(project, teacher, cups)
