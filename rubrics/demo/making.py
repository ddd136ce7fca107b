"""The demo's project in work: pieces while they are soft, with readings and ticks of habits.

All invented. It stands beside the finished batch, so that the making board, the list of what to
mend and the sheet of habits have something to show.
"""

from datetime import timedelta

from django.utils import timezone

from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.making import habits
from studio.measuring.entries import read_entry
from studio.measuring.readings import save_reading
from studio.models import Clay, HabitTick, Plan, PlannedSize, Project, Section, Stage
from studio.projects.pieces import begin_pieces, propose_codes
from studio.projects.projects import next_project_number

TITLE = "Slab jug with one handle"
BRIEF = "A straight jug from one slab, its rim drawn out to a lip, one handle opposite."
SIZES = {"height": 120, "rim_diameter": 90}
BEGUN_DAYS_AGO = 12

# (stage, days in it, walls, rim heights, height) in the order of the class list. [days, mm]
PIECES = (
    (Stage.LEATHER_HARD, 3, (3.1, 6.2, 6.0, 5.9), (137, 138, 143, 138), 137),
    (Stage.LEATHER_HARD, 2, (6.0, 6.3, 8.4, 6.2), (136, 136, 137, 136), 136),
    (Stage.LEATHER_HARD, 5, (5.8, 6.0, 6.1, 5.9), (139, 134, 133, 138), 136),
    (Stage.LEATHER_HARD, 1, (), (), None),
    (Stage.LEATHER_HARD, 0, (6.1, 6.0, 6.3, 6.2), (137, 137, 138, 137), 137),
    (Stage.BONE_DRY, 3, (), (128, 128, 135, 129), 130),
    (Stage.BONE_DRY, 1, (3.4, 5.9, 6.0, 5.8), (129, 130, 129, 129), 129),
    (Stage.BONE_DRY, 4, (), (), None),
    (Stage.WET, 0, (), (), None),
    (Stage.WET, 0, (), (), None),
    (Stage.WET, 3, (), (), None),
    (Stage.WET, 1, (), (), None),
)

# Days back on which the sheet was kept, and every how many students lacked a tick that day.
HABIT_DAYS = {1: 9, 2: 7, 3: 5, 6: 8, 7: 6, 8: 4, 9: 7}


def build(section: Section, clay: Clay, teacher) -> Project:
    """Begin the project and bring it to where it stands, through the functions of the pages."""
    today = timezone.localdate()
    project = Project.objects.create(
        section=section,
        number=next_project_number(section),
        title=TITLE,
        brief=BRIEF,
        begun_on=today - timedelta(days=BEGUN_DAYS_AGO),
    )
    plan = Plan.objects.create(project=project, clay=clay, slab_mm=6.35, fingers=2)
    PlannedSize.objects.bulk_create(
        PlannedSize(plan=plan, name=name, fired_mm=size) for name, size in SIZES.items()
    )
    students = list(section.students.all()[: len(PIECES)])
    codes = propose_codes(section, f"K{project.number}-", len(students))
    pieces = begin_pieces(project, zip(students, codes, strict=True))
    for piece, (stage, days, walls, rim, height) in zip(pieces, PIECES, strict=False):
        piece.stage, piece.stage_since = stage, today - timedelta(days=days)
        piece.save()
        _read(piece, teacher, "wall_thickness", walls, height_mm="60")
        _read(piece, teacher, "rim_height", rim)
        if height is not None:
            entry = read_entry(
                stage=stage, quantity="dimension", value=str(height), name="height", unit="mm"
            )
            save_reading(piece, entry, by=teacher)
    choose_rubric(project, ensure_starter_rubric())
    _habits(section, teacher, today)
    return project


def _read(piece, teacher, quantity: str, values, **place) -> None:
    """Values at even steps round the piece, from the handle on."""
    for at, value in enumerate(values):
        entry = read_entry(
            stage=piece.stage,
            quantity=quantity,
            value=str(value),
            azimuth_deg=str(at * 360 // len(values)),
            unit="mm",
            **place,
        )
        save_reading(piece, entry, by=teacher)


def _habits(section: Section, teacher, today) -> None:
    for back, lacking in HABIT_DAYS.items():
        for habit in HabitTick.Habit.values:
            if habit == HabitTick.Habit.SPARE and back not in (2, 8):
                continue
            for at, student in enumerate(habits.enrolled(section)):
                if (at + back) % lacking:
                    habits.tick(
                        section,
                        day=today - timedelta(days=back),
                        habit=habit,
                        student_id=str(student.pk),
                        on=True,
                        by=teacher,
                        today=today,
                    )
